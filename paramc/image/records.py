"""One record <-> bytes: packed bits, head, cover, seal. layout/FORMAT.md says every byte in words."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum

from paramc.frozen import dataclass
from paramc.layout.layout import HEAD_BYTES, LOOK, Field, FieldKind, Kind, Layout, Record
from paramc.model.product import Order
from paramc.numbers import crc

NO_REVISION = 0xFF
"""Byte 0 of a blank place; no record has it."""


class State(Enum):
    """What a place holds, seen alone."""

    SOUND = "sound"
    OLDER = "older"  # sound, of an earlier revision
    NEWER = "newer"  # sound, of a later revision
    BLANK = "blank"  # every byte erased
    UNSEALED = "unsealed"  # a byte of its checksum is FF: retired, or cut while it was saved
    UNREAD = "unread"  # the dump does not reach it
    TRIAL = "trial"  # revision 0, but of no trial that is at hand
    FOREIGN = "foreign"  # another product's record, or a part of one
    DAMAGED = "damaged"  # none of these


@dataclass(frozen=True, slots=True)
class Reading:
    """A place as read.

    number: which of its kind's records it holds, a preset's slot from 0, else 0; None where the
    checksum does not hold. values: one a field of the record, in order; () unless sound, but those of
    a foreign identity, which is laid out alike in every product. An identity of its own product is sound
    whatever revision wrote it.
    """

    address: int
    state: State
    revision: int
    counter: int
    number: int | None
    values: tuple[int, ...]


def text_value(text: bytes, field: Field, order: Order) -> int:
    """A text as the number that packs to its bytes in order, zeros behind; it must fit."""
    size = field.width // 8
    assert len(text) <= size
    return int.from_bytes(text.ljust(size, b"\0"), order.value)


def text_bytes(value: int, field: Field, order: Order) -> bytes:
    """The bytes of a text field without the zeros behind."""
    return value.to_bytes(field.width // 8, order.value).rstrip(b"\0")


def encode(layout: Layout, record: Record, address: int, counter: int, values: Sequence[int]) -> bytes:
    """The bytes of a record for a place.

    counter: the first to try; the next that seals is taken, so that no byte of the checksum is FF
    or 00. values: one a field, each below 2^width.
    """
    [copy] = encode_copies(layout, record, (address,), counter, values)
    return copy


def encode_copies(
    layout: Layout, record: Record, places: Sequence[int], counter: int, values: Sequence[int]
) -> list[bytes]:
    """The same for each of several places; the fields are packed once."""
    algorithm = layout.product.chip.checksum
    packed = _packed(record, layout.revision_byte, values)
    return [_sealed(layout, record.kind, address, counter, packed, algorithm) for address in places]


def decode(layout: Layout, record: Record, address: int, place: bytes) -> Reading:
    """What a place holds, never UNREAD; place is at least a record long. Never raises on any bytes.

    A trial reads its own records and, as its release would, those of the revision that it wants to become;
    a release takes no trial's. Of records that are foreign only an identity can say so by itself.
    """
    blob = place[: record.length]
    revision, counter = blob[0], blob[1]
    algorithm = layout.product.chip.checksum
    body, stored = blob[: -algorithm.size], blob[-algorithm.size :]
    value = crc.compute(algorithm, cover(layout, record.kind, address, revision) + body)
    values = _unpacked(record, body)
    number = values[field_of(record, FieldKind.SLOT)] if record.numbers > 1 else 0
    if not crc.passes(algorithm, value, stored) or number >= record.numbers or revision == NO_REVISION:
        return Reading(address, _broken(layout, record, place, stored), revision, counter, None, ())
    if record.kind is Kind.IDENTITY:
        ours = values[field_of(record, FieldKind.PRODUCT_CODE)] == layout.product.code
        return Reading(address, State.SOUND if ours else State.FOREIGN, revision, counter, number, values)
    state = _age(layout, revision)
    return Reading(address, state, revision, counter, number, values if state is State.SOUND else ())


def _broken(layout: Layout, record: Record, place: bytes, stored: bytes) -> State:
    """What a place is whose checksum does not hold."""
    if all(byte == layout.product.chip.blank for byte in place[: record.place_bytes]):
        return State.BLANK
    if 0xFF in stored:
        return State.UNSEALED
    return State.TRIAL if place[0] == 0 and 0 not in stored and not layout.trial else State.DAMAGED


def _age(layout: Layout, revision: int) -> State:
    """What a record is whose checksum holds."""
    if revision in (layout.revision_byte, layout.product.revision):
        return State.SOUND
    if revision == 0:
        return State.TRIAL
    return State.OLDER if revision < layout.product.revision else State.NEWER


def newer(a: int, b: int) -> bool:
    """Whether counter a was written after counter b: the signed 8-bit difference is above zero."""
    return 0 < (a - b) & 0xFF < 0x80


def cover(layout: Layout, kind: Kind, address: int, revision: int) -> bytes:
    """What the checksum covers but no byte stores, each high byte first: the fingerprint in records of a
    trial alone."""
    if kind is Kind.IDENTITY:
        return address.to_bytes(2, "big")
    fingerprint = layout.look_fingerprint if kind in LOOK else layout.bench_fingerprint
    return (
        layout.product.code.to_bytes(2, "big")
        + address.to_bytes(2, "big")
        + (fingerprint.to_bytes(4, "big") if layout.trial and revision == 0 else b"")
    )


def _body_bits(record: Record) -> int:
    return 8 * HEAD_BYTES + record.payload_bits


def _packed(record: Record, revision: int, values: Sequence[int]) -> bytearray:
    """Head, fields and growth, without the checksum; the counter is yet to come."""
    size = (_body_bits(record) + 7) // 8
    bits = 0
    for field, value in zip(record.fields, values, strict=True):
        assert 0 <= value < 1 << field.width or value == 0 == field.width, (field, value)
        bits |= value << _shift(record, field, size)
    packed = bytearray(bits.to_bytes(size, record.order.value))
    packed[0] = revision
    return packed + bytes(record.growth)


def _sealed(
    layout: Layout, kind: Kind, address: int, counter: int, packed: bytearray, algorithm: crc.Algorithm
) -> bytes:
    """A packed record for a place, with the first counter from this one on that seals, and its checksum."""
    body = bytearray(packed)
    lead = crc.update(algorithm, crc.start(algorithm), cover(layout, kind, address, layout.revision_byte))
    while True:
        body[1] = counter & 0xFF
        value = crc.finish(algorithm, crc.update(algorithm, lead, body))
        if crc.sealed(algorithm, value):
            return bytes(body) + crc.stored(algorithm, value)
        counter += 1


def _unpacked(record: Record, body: bytes) -> tuple[int, ...]:
    size = (_body_bits(record) + 7) // 8
    bits = int.from_bytes(body[:size], record.order.value)
    return tuple(
        bits >> _shift(record, field, size) & ((1 << field.width) - 1) for field in record.fields
    )


def _shift(record: Record, field: Field, size: int) -> int:
    """By how much a field's value is shifted in the whole record seen as one number."""
    return field.bit if record.order is Order.LITTLE else 8 * size - field.bit - field.width


def field_of(record: Record, kind: FieldKind) -> int:
    """The place in the record's fields of the only field of a kind."""
    return next(at for at, field in enumerate(record.fields) if field.kind is kind)
