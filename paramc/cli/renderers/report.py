"""What a build made and what it costs, for people and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from paramc.cli.files import Output
from paramc.cli.renderers import memory
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.layout.layout import Layout
from paramc.tables.table import FullTable, LinearRule, Table, flash_bytes

FORMAT = 1


def as_text(layout: Layout, made: Sequence[Output], folder: str) -> list[str]:
    """The report, a line each."""
    return [
        *_made(layout, made, folder),
        "",
        *memory.as_text(layout),
        "",
        *_tables(layout),
    ]


def as_data(layout: Layout, made: Sequence[Output]) -> dict[str, Any]:
    """The report as JSON would have it. Bytes unless a key says otherwise."""
    return {
        "format": FORMAT,
        "product": layout.product.name,
        "revision": layout.product.revision,
        "trial": layout.trial,
        "fingerprint": f"{layout.fingerprint:08X}",
        "files": [{"name": output.name, "bytes": len(output.data)} for output in made],
        "memory": memory.as_data(layout),
        "tables": [
            {"use": use, "of": of, "form": form, "codes": codes, "flash": flash}
            for use, of, form, codes, flash in _uses(layout)
        ],
    }


def _made(layout: Layout, made: Sequence[Output], folder: str) -> Iterator[str]:
    product = layout.product
    state = "a trial: no release froze it, and every image says so"
    yield f"{plain(product.label)}, revision {product.revision}, {state if layout.trial else 'released'}."
    yield f"Fingerprint {layout.fingerprint:08X}. Written to {plain(folder)}:"
    yield ""
    yield from table(("file", "bytes"), [(o.name, _number(len(o.data))) for o in made], "lr")


def _tables(layout: Layout) -> Iterator[str]:
    uses = list(_uses(layout))
    yield f"Tables: {_number(sum(flash for *_, flash in uses))} bytes of flash."
    if uses:
        yield ""
        rows = [(use, of, form, _number(codes), _number(flash)) for use, of, form, codes, flash in uses]
        yield from table(("use", "of", "form", "codes", "flash"), rows, "lllrr")


def _uses(layout: Layout) -> Iterator[tuple[str, str, str, int, int]]:
    for engine in layout.engines:
        yield "engine", engine.item, _form(engine.table), engine.table.entries, flash_bytes(engine.table)
    for knob in layout.knobs:
        yield "knob", knob.name, _form(knob.table), knob.table.entries, flash_bytes(knob.table)


def _form(table_: Table) -> str:
    match table_:
        case LinearRule():
            return "linear rule"
        case FullTable():
            return "full table"


def _number(value: int) -> str:
    return f"{value:,}".replace(",", " ")
