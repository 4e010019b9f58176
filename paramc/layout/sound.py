"""What a layout read from a file must keep: sound places, fields and tables."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from paramc.layout.fields import contents
from paramc.layout.fingerprint import fingerprints
from paramc.layout.layout import FORMAT, HEAD_BYTES, EngineTable, FieldKind, KnobTable, Layout, Record
from paramc.layout.sound_product import product_faults
from paramc.layout.texts import PLACES
from paramc.model.panel import Knob
from paramc.model.product import Chip
from paramc.tables.forms import AnyTable, value_at, values_of
from paramc.tables.offset_table import OffsetTable
from paramc.tables.table import WIDEST, FullTable, LinearRule

_TABLE_NAME = re.compile(r"[a-z_][a-z0-9_]{0,99}")
_MOST_SHIFT = 31


def faults(layout: Layout) -> Iterator[str]:
    """Whole sentences on what keeps a layout from being sound; the first is enough."""
    if layout.format != FORMAT:
        yield f"The layout's format is {layout.format}, not {FORMAT}."
    yield from product_faults(layout.product)
    yield from _records(layout)
    found = (layout.fingerprint, layout.look_fingerprint, layout.bench_fingerprint)
    if found != fingerprints(layout.product, layout.records):
        yield "A fingerprint is not the one of this layout."
    yield from _engines(layout)
    yield from _knobs(layout)
    if len({text.key for text in layout.texts}) != len(layout.texts):
        yield "Two texts have one key."
    if not all(set(text.where) <= set(PLACES) for text in layout.texts):
        yield "A text is for a page that is not known."


def _records(layout: Layout) -> Iterator[str]:
    chip = layout.product.chip
    expected = contents(layout.product)
    if [record.kind for record in layout.records] != [content.kind for content in expected]:
        yield "The kinds of record are not those of the product, in their order."
    # A byte of the memory each, not zero where something stands already: hostile files can have many places.
    taken = bytearray(chip.size)
    taken[: chip.leave_first] = b"\1" * chip.leave_first
    for record, content in zip(layout.records, expected, strict=True):
        what = record.kind.value
        yield from _places(record, chip, taken)
        for place in record.places:
            taken[place : place + record.place_bytes] = b"\1" * record.place_bytes
        if record.numbers != content.numbers or len(record.places) < record.numbers:
            yield f"The numbers of {what} are not those of the product, or have too few places."
        if record.order is not content.order:
            yield f"The byte order of {what} is not the product's."
        if record.growth < 0 or record.saves < 0:
            yield f"A count of {what} is below zero."
        held = {(field.name, field.kind, field.width, field.codes) for field in record.fields}
        wanted = {(field.name, field.kind, field.width, field.codes) for field in content.fields}
        if held != wanted or len(record.fields) != len(content.fields):
            yield f"The fields of {what} are not those of the product."
        yield from _fields(record, chip)


def _places(record: Record, chip: Chip, taken: bytearray) -> Iterator[str]:
    what = record.kind.value
    if not record.places:
        yield f"There is no place for {what}."
    if record.place_bytes < max(record.length, 1) or record.place_bytes % chip.page:
        yield f"A place of {what} is not whole pages, or shorter than its record."
    if any(place < 0 or any(taken[place : place + record.place_bytes]) for place in record.places):
        yield f"A place of {what} begins inside what stands before it, or reaches into it."
    if any(after - before < record.place_bytes for before, after in pairwise(record.places)):
        yield f"Two places of {what} overlap, or are not in order."
    if any(place % chip.page for place in record.places):
        yield f"A place of {what} is not on a page edge."
    if record.end > chip.size:
        yield f"The places of {what} reach over the memory's end."


def _fields(record: Record, chip: Chip) -> Iterator[str]:
    what = record.kind.value
    bit = 8 * HEAD_BYTES
    for field in record.fields:
        if field.bit != bit:
            yield f"The fields of {what} do not follow one another."
        bit += field.width
    if record.length != -(-bit // 8) + record.growth + chip.checksum.size:
        yield f"The length of {what} is not the sum of its parts."
    numbers = [(field.number, field.kind) for field in record.fields if field.number is not None]
    if len(set(numbers)) != len(numbers) or any(number < 1 for number, _ in numbers):
        yield f"A permanent number in {what} is below 1 or there twice."
    of_things = (FieldKind.ITEM, FieldKind.MEASURED, FieldKind.END_LOW, FieldKind.END_HIGH)
    if any((field.number is None) == (field.kind in of_things) for field in record.fields):
        yield f"A field of {what} lacks its permanent number, or has one and needs none."
    bits = {field.number for field in record.fields if field.kind is FieldKind.MEASURED}
    if bits and bits != {number for number, kind in numbers if kind is not FieldKind.MEASURED}:
        yield f"A bit of {what} that says what was measured does not stand under the number of its trim."


def _engines(layout: Layout) -> Iterator[str]:
    items = [item for item in layout.product.items if item.engine is not None]
    if [engine.item for engine in layout.engines] != [item.name for item in items]:
        yield "The engine tables are not those of the items with an engine, in their order."
    for engine, item in zip(layout.engines, items, strict=True):
        assert item.engine is not None
        kept = item.engine.format
        yield from _table(engine, engine.item, item.codes, kept.minimum, kept.maximum)


def _knobs(layout: Layout) -> Iterator[str]:
    items = {item.name: item for item in layout.product.items}
    controls = {control.name: control for control in layout.product.panel}
    names = [table.name for table in layout.knobs]
    if len(set(names)) != len(names) or not all(_TABLE_NAME.fullmatch(name) for name in names):
        yield "The name of a knob's table is there twice, or is not a name."
    for table in layout.knobs:
        item = items.get(table.item)
        if item is None:
            yield f"The knob's table {table.name} is for an item that is not there."
            continue
        read_by = [controls.get(name) for name in table.controls]
        if not read_by or not all(
            isinstance(knob, Knob)
            and knob.adc_bits == table.adc_bits
            and knob.noise + 1 == table.hysteresis
            for knob in read_by
        ):
            yield f"The knob's table {table.name} does not agree with its knobs."
        yield from _table(table, table.name, 1 << table.adc_bits, 0, item.codes - 1)


def _table(of: EngineTable | KnobTable, name: str, entries: int, low: int, high: int) -> Iterator[str]:
    table, proof = of.table, of.proof
    if table.entries != entries:
        yield f"The table of {name} has {table.entries} entries, not {entries}."
    if not _computes(table):
        yield f"The linear rule of {name} does not stay within 32 bits."
    ends = _ends(table)
    if min(ends) < low or max(ends) > high:
        yield f"The table of {name} gives a number outside {low} to {high}."
    if proof.pieces < 1 or proof.worst < 0 or not 0 <= proof.worst_at < entries:
        yield f"The proof of the table of {name} is not one."
    if any(not 0 <= code < entries for code in proof.without):
        yield f"The proof of the table of {name} tells of a code that it has not."


def _computes(table: AnyTable) -> bool:
    if not isinstance(table, LinearRule):
        # Forms that store something refuse fields that they cannot compute with when they are made.
        return True
    return (
        table.entries >= 1
        and table.multiplier >= 0
        and table.offset >= 0
        and 0 <= table.shift <= _MOST_SHIFT
        and (table.entries - 1) * table.multiplier + table.offset < WIDEST
    )


def _ends(table: AnyTable) -> tuple[int, ...]:
    """Values among which are the least and the greatest."""
    match table:
        case FullTable(values):
            return values
        case OffsetTable():
            return values_of(table)
        case _:
            # It never turns back.
            return value_at(table, 0), value_at(table, table.entries - 1)
