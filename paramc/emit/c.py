"""Layout -> C: one header and one source."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from dataclasses import replace

from jinja2 import Environment

from paramc.emit.artifact import Artifact
from paramc.emit.constants import hexadecimal
from paramc.emit.header_view import HeaderView, header_view
from paramc.emit.layout_rows import rows_of
from paramc.emit.panel_view import panel_of
from paramc.emit.source_view import SourceView, source_view
from paramc.emit.tables_view import tables_of
from paramc.emit.templating import environment
from paramc.layout.layout import Layout

_NAME = re.compile(rb"^#define (\w+)|^\w+ (\w+_(?:engine|knob)_\w+)\(.*;$", re.MULTILINE)


def emit_c(layout: Layout) -> tuple[Artifact, ...]:
    """NAME.h and NAME.c of a layout: the firmware's whole part, C99 that is also C++.

    Both carry a number made from the text of both, and refuse to be compiled apart. A layout whose
    records C cannot unpack raises ValueError: the floors below let none through.
    """
    rows = rows_of(layout)
    # The numbers of rows and places, and one for none of them, share a type.
    most = max(len(rows.rows), sum(len(record.places) for record in layout.records))
    nothing = 0xFF if most < 0xFF else 0xFFFF
    panel = panel_of(layout.product, rows, nothing)
    source = source_view(layout, rows, tables_of(layout, rows), panel, nothing)
    header = header_view(layout, rows, panel, source)
    place = environment(layout.product.prefix)

    def texts(build: str) -> tuple[bytes, bytes]:
        return (
            _text(place, "header.h.j2", replace(header, build=build)),
            _text(place, "source.c.j2", replace(source, build=build)),
        )

    _refuse_clashes(*texts(""))
    digest = hashlib.sha256(b"\0".join(texts(""))).digest()
    build = hexadecimal(int.from_bytes(digest[:4], "big"), 32)
    name = layout.product.name
    return tuple(
        Artifact(f"{name}{suffix}", text) for suffix, text in zip((".h", ".c"), texts(build), strict=True)
    )


def _refuse_clashes(header: bytes, source: bytes) -> None:
    """No name is given twice: not in the header, and none of the header's again in the source."""
    given = Counter(_names(header))
    again = [name for name, times in given.items() if times > 1] + [*given.keys() & set(_names(source))]
    if again:
        raise ValueError(f"names that fall together in C: {', '.join(sorted(again))}")


def _names(text: bytes) -> list[str]:
    return [(constant or function).decode("ascii") for constant, function in _NAME.findall(text)]


def _text(place: Environment, template: str, view: HeaderView | SourceView) -> bytes:
    text = place.get_template(template).render(v=view)
    return (text.rstrip("\n") + "\n").encode("utf-8")
