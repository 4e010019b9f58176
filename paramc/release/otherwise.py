"""What this paramc makes otherwise of a source that another one has released, its memory apart."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.layout.layout import Layout
from paramc.tables.forms import AnyTable


def otherwise(released: Layout, made: Layout) -> tuple[str, ...]:
    """The parts that differ, as words of a list; () where nothing does. Both are of one source."""
    return tuple(_parts(released, made))


def _parts(released: Layout, made: Layout) -> Iterator[str]:
    before, now = _tables(released), _tables(made)
    keys = before.keys() | now.keys()
    moved = {item for reader, item in keys if before.get((reader, item)) != now.get((reader, item))}
    yield from (f"a table of {item}" for item in sorted(moved))
    if not moved and (released.engines, released.knobs) != (made.engines, made.knobs):
        yield "what is said of the tables"
    if released.texts != made.texts:
        yield "the cautions"
    if (released.product, released.records) != (made.product, made.records):
        yield "what is said of the product"


def _tables(layout: Layout) -> dict[tuple[str, str], AnyTable]:
    """By what reads it, a knob or the engine, and the item that it is of."""
    engines = {("", one.item): one.table for one in layout.engines}
    return engines | {(one.name, one.item): one.table for one in layout.knobs}
