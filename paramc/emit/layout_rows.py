"""Records and structures seen as rows: what one loop in C unpacks, checks and fills by."""

from __future__ import annotations

from dataclasses import replace

from paramc.frozen import dataclass
from paramc.layout.layout import HEAD_BYTES, Field, FieldKind, Kind, Layout, Record
from paramc.model.items import vacant_codes
from paramc.model.panel import Knob, Pedal

CODE_BITS = 16
"""The widest code or half of one that a row holds."""


@dataclass(frozen=True, slots=True)
class Row:
    """One member of a structure in C.

    name: the field's, as the layout has it. structure: look or trims. member: how C writes it.
    last: the highest code in use. standard: its default. width: bits in a record. wide: uint16_t. vacant:
    codes below the last that are not in use, of ways that went.
    """

    name: str
    structure: str
    member: str
    last: int
    standard: int
    width: int
    wide: bool
    vacant: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class RecordRows:
    """A kind of record: its rows are start to just before end of all rows. Identity, which is read as the
    bytes that it is in every product, has none."""

    record: Record
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows in order: setup, state, bench. Those of presets are the last of state's. Presets are the last
    kind."""

    rows: tuple[Row, ...]
    kinds: tuple[RecordRows, ...]

    @property
    def of_look(self) -> int:
        """How many of the first rows are of the look."""
        return sum(row.structure == "look" for row in self.rows)

    def number(self, item: str) -> int:
        """The row of an item."""
        return next(at for at, row in enumerate(self.rows) if row.name == item)

    def kind(self, kind: Kind) -> RecordRows | None:
        """A kind of record; None where the product has none."""
        return next((rows for rows in self.kinds if rows.record.kind is kind), None)


def rows_of(layout: Layout) -> Rows:
    """The rows of a layout. Where a field is not as C knows it, ValueError: our own mistake."""
    rows: list[Row] = []
    spans: dict[Kind, tuple[int, int]] = {}
    for record in layout.records:
        _check_order(record)
    for kind in (Kind.SETUP, Kind.STATE, Kind.BENCH):
        of_kind = layout.record(kind)
        if of_kind is not None:
            start = len(rows)
            rows += [row for field in of_kind.fields for row in _rows_of_field(layout, of_kind, field)]
            spans[kind] = (start, len(rows))
    presets = layout.record(Kind.PRESETS)
    state = layout.record(Kind.STATE)
    assert presets is not None and state is not None
    names = [field.name for field in presets.fields if field.kind is FieldKind.ITEM]
    end = spans[Kind.STATE][1]
    spans[Kind.PRESETS] = (end - len(names), end)
    if [row.name for row in rows[end - len(names) : end]] != names:
        raise ValueError("a state does not end with the fields of a preset")
    # Presets last: one number after another then names every record there is.
    records = sorted(layout.records, key=lambda record: record.kind is Kind.PRESETS)
    kinds = tuple(RecordRows(record, *spans.get(record.kind, (0, 0))) for record in records)
    return Rows(tuple(rows), kinds)


def _check_order(record: Record) -> None:
    """One loop reads a record: head, slot, rows, text, each field where the one before ends."""
    bit = 8 * HEAD_BYTES
    for at, field in enumerate(record.fields):
        last = at == len(record.fields) - 1
        if field.bit != bit or (field.kind is FieldKind.SLOT) != (record.kind is Kind.PRESETS and at == 0):
            raise ValueError(f"field {field.name} of {record.kind.value} is out of its order")
        if field.kind in (FieldKind.NAME, FieldKind.SERIAL) and not last:
            raise ValueError(f"text {field.name} of {record.kind.value} is not behind all fields")
        bit += field.width


def _rows_of_field(layout: Layout, record: Record, field: Field) -> tuple[Row, ...]:
    product = layout.product
    match field.kind:
        case FieldKind.ITEM:
            structure = "trims" if record.kind is Kind.BENCH else "look"
            item = product.item(field.name)
            row = _row(field, structure, field.name, item.default)
            return (replace(row, vacant=vacant_codes(item)),)
        case FieldKind.LAST_PRESET:
            return (_row(field, "look", field.name, product.first_preset - 1),)
        case FieldKind.ENGAGED:
            return (_row(field, "look", field.name, 0),)
        case FieldKind.MEASURED:
            return (_row(field, "trims", field.name, 0),)
        case FieldKind.END_LOW | FieldKind.END_HIGH:
            control, _, end = field.name.rpartition("_")
            readers: tuple[Knob | Pedal, ...] = (*product.knobs, *product.pedals)
            read = next(one for one in readers if one.name.lower() == control)
            count = read.ends[field.kind is FieldKind.END_HIGH]
            structure = "trims" if record.kind is Kind.BENCH else "look"
            return (_row(field, structure, f"{control}_ends.{end}", count, wide=True),)
        case FieldKind.SLOT | FieldKind.NAME:
            return ()
        case (
            FieldKind.PRODUCT_CODE | FieldKind.HARDWARE | FieldKind.FINGERPRINT | FieldKind.TRIAL
            | FieldKind.SERIAL
        ):  # fmt: skip
            raise ValueError(f"field {field.name} is one of identity's")


def _row(field: Field, structure: str, member: str, standard: int, wide: bool = False) -> Row:
    if field.width > CODE_BITS or field.codes > 1 << CODE_BITS:
        raise ValueError(f"field {field.name} needs more than {CODE_BITS} bits")
    return Row(
        field.name, structure, member, field.codes - 1, standard, field.width, wide or field.width > 8
    )
