"""A memory read back from a unit, held against what was meant: bytes first, then what they mean.

Identity, bench and presets are to be the very bytes, in every place. Setup and state are to mean the same: a
unit that was switched on may have written them elsewhere, under another counter.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from paramc.frozen import dataclass
from paramc.image.codes import code_text
from paramc.image.factory import HARDWARE_UNSAID, factory_values
from paramc.image.memory import Contents, read_memory
from paramc.image.records import State, text_bytes
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import HEAD_BYTES, Field, FieldKind, Kind, Layout, Record
from paramc.model.items import Trim, is_in_use
from paramc.model.product import Order
from paramc.numbers.real import compare

BY_BYTES: Final = (Kind.IDENTITY, Kind.BENCH, Kind.PRESETS)

_LONGEST: Final = 12
"""Bytes that are shown of a stretch of them."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as it was meant. preset: from 1, where it is a preset's. address: of the place,
    None of what is told of a record wherever it stands. field: its name, or the part of the record."""

    kind: str
    preset: int | None
    address: int | None
    field: str
    meant: str
    found: str

    @property
    def where(self) -> str:
        """The record, for a sentence."""
        what = self.kind if self.preset is None else f"preset {self.preset}"
        return what if self.address is None else f"{what} at 0x{self.address:04X}"

    @property
    def sentence(self) -> str:
        """All of it, as one sentence."""
        return f"In {self.where}, {self.field} is {self.found}, and {self.meant} was meant."


def unit_in(layout: Layout, contents: Contents) -> Unit | str:
    """The unit that a memory says itself to be, or a sentence on why it cannot be one that was stamped.

    With it alone a memory can be verified where no log is at hand: what it says of itself then has to hold
    in every copy, and its trims have to be plausible.
    """
    identity = contents.identity
    if all(place.state is State.BLANK for held in contents.kinds for place in held.places):
        return "The memory is blank: nothing was written to it."
    if identity is None:
        return (
            "No copy of its identity is sound, so it does not say which unit it is; is it a dump of this"
            " product, and all of it?"
        )
    product = layout.product
    if identity.product_code != product.code:
        return (
            f"It is another product: its code is 0x{identity.product_code:04X}, and {product.name} has"
            f" 0x{product.code:04X}."
        )
    if identity.trial:
        return "It was made by a trial, and a trial does not ship."
    if (identity.revision, identity.fingerprint) != (layout.revision_byte, layout.fingerprint):
        return (
            f"It was stamped from {identity.build}, and this release is revision {product.revision} with"
            f" fingerprint {layout.fingerprint:08X}."
        )
    if not identity.serial and product.holds.serial_characters:
        return "It has no serial: it is as the factory image has it, and was not stamped."
    if product.hardware and identity.hardware not in product.boards:
        return "Its hardware is not said, or is none that this release fits."
    return _with_trims(layout, contents, identity.serial, identity.hardware)


def _with_trims(layout: Layout, contents: Contents, serial: str, hardware: int | None) -> Unit | str:
    held = contents.held(Kind.BENCH)
    if held is None:
        return Unit(serial, hardware)
    values = held.numbers[0].values
    if values is None:
        return "No copy of its bench record is sound, so its trims are lost."
    measured = {
        field.number
        for field, value in zip(held.record.fields, values, strict=True)
        if field.kind is FieldKind.MEASURED and value
    }
    trims = []
    for field, code in zip(held.record.fields, values, strict=True):
        if field.kind is not FieldKind.ITEM or field.number not in measured:
            continue
        trim = layout.product.item(field.name)
        assert isinstance(trim, Trim)
        if not _plausible(trim, code):
            return f"Its trim {trim.name} is outside what is plausible."
        trims.append((trim.name, code))
    return Unit(serial, hardware, tuple(trims))


def _plausible(trim: Trim, code: int) -> bool:
    if not is_in_use(trim, code):
        return False
    value = trim.scale.value(code)
    low, high = trim.plausible or (trim.scale.low, trim.scale.high)
    return compare(low, value) <= 0 <= compare(high, value)


def differences(
    layout: Layout, unit: Unit, memory: bytes, gaps: Sequence[range] = ()
) -> tuple[Difference, ...]:
    """Everything that is not as it was meant, in the order of the memory; () where all of it is.

    memory: the whole of it. gaps: ranges of it that the dump does not give; they count as not read.
    """
    return compared(layout, stamp_image(layout, unit), memory, gaps)


def compared(
    layout: Layout, meant: bytes, memory: bytes, gaps: Sequence[range] = ()
) -> tuple[Difference, ...]:
    """The same against the very image that was meant."""
    contents = read_memory(layout, memory, gaps)
    return tuple(_differences(layout, contents, meant, memory, gaps))


def _differences(
    layout: Layout, contents: Contents, meant: bytes, memory: bytes, gaps: Sequence[range]
) -> Iterator[Difference]:
    for held in contents.kinds:
        record = held.record
        if record.kind in BY_BYTES:
            for at, address in enumerate(record.places):
                preset = at + 1 if record.kind is Kind.PRESETS and at < record.numbers else None
                ends = address, address + record.place_bytes
                if any(gap.start < ends[1] and ends[0] < gap.stop for gap in gaps) or ends[1] > len(memory):
                    what = "the place", "read", "not in the dump"
                    yield Difference(record.kind.value, preset, address, *what)
                else:
                    yield from _place(
                        layout, record, address, preset, meant[slice(*ends)], memory[slice(*ends)]
                    )
        else:
            yield from _by_meaning(layout, contents, record)


def _place(
    layout: Layout, record: Record, address: int, preset: int | None, meant: bytes, found: bytes
) -> Iterator[Difference]:
    """What differs at a place: fields by their bits, whether or not the checksum holds, else bytes."""
    if meant == found:
        return

    def differs(field: str, was: str, now: str) -> Difference:
        return Difference(record.kind.value, preset, address, field, was, now)

    blank = bytes([layout.product.chip.blank]) * len(meant)
    if meant == blank or found == blank:
        words = ("blank", "written") if meant == blank else ("written", "blank")
        yield differs("the place", *words)
        return
    told = list(_parts(layout, record, meant, found))
    for field, was, now in told:
        yield differs(field, was, now)
    if not told:
        at = next(at for at, (was, now) in enumerate(zip(meant, found, strict=True)) if was != now)
        yield differs(f"byte {at}, in a bit that no field has,", f"{meant[at]:02X}", f"{found[at]:02X}")


def _parts(layout: Layout, record: Record, meant: bytes, found: bytes) -> Iterator[tuple[str, str, str]]:
    """What is told by the name of a field or of a part of the record: the name, what was meant, what is
    found."""
    if meant[0] != found[0]:
        yield "revision", str(meant[0]), str(found[0])
    for field in record.fields:
        was, now = _bits(record, field, meant), _bits(record, field, found)
        if was != now:
            yield field.name, _text(layout, record, field, was), _text(layout, record, field, now)
    if meant[1] != found[1]:
        yield "counter", str(meant[1]), str(found[1])
    sums = layout.product.chip.checksum.size
    body = (8 * HEAD_BYTES + record.payload_bits + 7) // 8
    for name, start, end in (
        ("growth", body, record.length - sums),
        ("checksum", record.length - sums, record.length),
        ("what stands behind the record", record.length, len(meant)),
    ):
        if meant[start:end] != found[start:end]:
            yield name, _shown(meant[start:end]), _shown(found[start:end])


def _bits(record: Record, field: Field, place: bytes) -> int:
    """A field's value at a place, whatever the checksum says."""
    body = place[: (8 * HEAD_BYTES + record.payload_bits + 7) // 8]
    whole = int.from_bytes(body, record.order.value)
    shift = field.bit if record.order is Order.LITTLE else 8 * len(body) - field.bit - field.width
    return whole >> shift & (1 << field.width) - 1


def _by_meaning(layout: Layout, contents: Contents, record: Record) -> Iterator[Difference]:
    """What differs in a record that the unit may have written itself."""
    held = contents.held(record.kind)
    assert held is not None
    [number] = held.numbers
    values = number.values
    if values is None:
        yield Difference(record.kind.value, None, None, "the record", "sound", number.answer.value)
        return
    for field, was, now in zip(record.fields, factory_values(layout, record), values, strict=True):
        if was != now:
            texts = _text(layout, record, field, was), _text(layout, record, field, now)
            yield Difference(record.kind.value, None, None, field.name, *texts)


def _text(layout: Layout, record: Record, field: Field, value: int) -> str:
    """What a field's bits stand for, for a person."""
    product = layout.product
    match field.kind:
        case FieldKind.ITEM:
            item = product.item(field.name)
            return code_text(item, value) if is_in_use(item, value) else f"code {value}, which is not in use"
        case FieldKind.NAME | FieldKind.SERIAL:
            text = text_bytes(value, field, record.order).decode("utf-8", "backslashreplace")
            return f'"{text}"' if text else "empty"
        case FieldKind.HARDWARE:
            known = product.boards.get(value)
            return "not said" if value == HARDWARE_UNSAID else known or f"number {value}, which is not known"
        case FieldKind.PRODUCT_CODE:
            return f"0x{value:04X}"
        case FieldKind.FINGERPRINT:
            return f"{value:08X}"
        case FieldKind.MEASURED:
            return "measured" if value else "nominal"
        case FieldKind.TRIAL:
            return "a trial" if value else "no trial"
        case FieldKind.ENGAGED:
            return "engaged" if value else "bypassed"
        case FieldKind.SLOT | FieldKind.LAST_PRESET:
            return f"preset {value + 1}"
        case FieldKind.END_LOW | FieldKind.END_HIGH:
            return f"{value} counts"


def _shown(data: bytes) -> str:
    text = data[:_LONGEST].hex(" ").upper()
    return f"{text} ..." if len(data) > _LONGEST else text
