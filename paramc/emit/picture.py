"""A curve as SVG 1.1, a picture that any browser opens: light and dark, told apart without colour."""

from __future__ import annotations

from jinja2 import Environment, StrictUndefined

from paramc.emit.templating import source
from paramc.frozen import dataclass

TEMPLATE = "curve.svg.j2"


@dataclass(frozen=True, slots=True)
class MarkView:
    """A value or hour at the edge. at: its line; below: where its text stands."""

    at: str
    below: str
    text: str


@dataclass(frozen=True, slots=True)
class PictureView:
    """Everything in the picture, as finished text. Lengths are in SVG's user units."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    across: int
    down: int
    labels: int
    hour_line: int
    foot: int
    middle: int
    noon: str
    noon_height: str
    title: str
    text: str
    heading: str
    legend: str
    lines: tuple[MarkView, ...]
    hours: tuple[MarkView, ...]
    now: str
    has_older: bool
    older: str


def picture(view: PictureView) -> bytes:
    """The file. Every text is escaped on the way."""
    environment = Environment(
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    template = environment.from_string(source(TEMPLATE))
    return template.render(v=view).encode()
