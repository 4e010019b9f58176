"""Layout -> C: the header, the source, and the writers that only the bench links."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from jinja2 import Environment

from paramc.emit.artifact import Artifact
from paramc.emit.bench_view import BenchView, bench_view
from paramc.emit.constants import hexadecimal
from paramc.emit.folding import folded
from paramc.emit.header_view import HeaderView, header_view
from paramc.emit.layout_rows import rows_of
from paramc.emit.panel_view import panel_of
from paramc.emit.play_view import play_of
from paramc.emit.source_view import SourceView, source_view
from paramc.emit.tables_view import tables_of
from paramc.emit.templating import environment
from paramc.layout.layout import Layout
from paramc.layout.older import OldRecord

_NAME = re.compile(rb"^#define (\w+)|^\w+ (\w+_(?:engine|knob)_\w+)\(.*;$", re.MULTILINE)


def emit_c(layout: Layout, older: Sequence[OldRecord] = ()) -> tuple[Artifact, ...]:
    """NAME.h, NAME.c and NAME_bench.c of a layout: the firmware's whole part, C99 that is also C++.

    older: the records of earlier revisions that it reads. All three carry a number made from the text of
    all, and refuse to be compiled apart. A layout whose records C cannot unpack raises ValueError: the
    floors below let none through.
    """
    rows = rows_of(layout)
    # The numbers of rows and places, and one for none of them, share a type.
    most = max(len(rows.rows), sum(len(record.places) for record in layout.records))
    nothing = 0xFF if most < 0xFF else 0xFFFF
    panel = panel_of(layout.product, rows, nothing)
    play = play_of(layout, rows, panel)
    source = source_view(layout, rows, tables_of(layout, rows), panel, play, older, nothing)
    header = header_view(layout, rows, panel, source)
    bench = bench_view(layout, rows, source)
    place = environment(layout.product.prefix)

    def texts(build: str) -> tuple[bytes, bytes, bytes]:
        return (
            _text(place, "header.h.j2", replace(header, build=build)),
            _text(place, "source.c.j2", replace(source, build=build)),
            _text(place, "bench.c.j2", replace(bench, build=build)),
        )

    _refuse_clashes(*texts(""))
    digest = hashlib.sha256(b"\0".join(texts(""))).digest()
    build = hexadecimal(int.from_bytes(digest[:4], "big"), 32)
    name = layout.product.name
    return tuple(
        Artifact(f"{name}{suffix}", text)
        for suffix, text in zip((".h", ".c", "_bench.c"), texts(build), strict=True)
    )


def _refuse_clashes(header: bytes, *sources: bytes) -> None:
    """No name is given twice: not in the header, and none of the header's again in a source."""
    given = Counter(_names(header))
    again = [name for name, times in given.items() if times > 1]
    again += [name for source in sources for name in given.keys() & set(_names(source))]
    if again:
        raise ValueError(f"names that fall together in C: {', '.join(sorted(again))}")


def _names(text: bytes) -> list[str]:
    return [(constant or function).decode("ascii") for constant, function in _NAME.findall(text)]


def _text(place: Environment, template: str, view: HeaderView | SourceView | BenchView) -> bytes:
    text = place.get_template(template).render(v=view)
    return (folded(text).rstrip("\n") + "\n").encode("utf-8")
