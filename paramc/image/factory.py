"""The image of a new unit, and the values that each of its records begins with."""

from __future__ import annotations

from paramc.image.files import Chunk
from paramc.image.records import encode, text_value
from paramc.layout.layout import LOOK, Field, FieldKind, Kind, Layout, Record
from paramc.model.items import Selector
from paramc.model.panel import Knob, Pedal
from paramc.model.product import Wakes

FIRST_COUNTER = 1
HARDWARE_UNSAID = 0xFF


def factory_values(layout: Layout, record: Record, slot: int = 0) -> tuple[int, ...]:
    """One value a field of a record as the factory writes it; slot counts from 0."""
    return tuple(_factory_value(layout, record, field, slot) for field in record.fields)


def factory_image(layout: Layout) -> bytes:
    """The whole memory of a new unit: serial and hardware not said, trims nominal.

    Identity and bench fill all their places, preset slot i stands in place i, setup and state in
    their first place; every other byte is blank.
    """
    memory = blank_memory(layout)
    for record in layout.records:
        write_factory(layout, record, memory)
    return bytes(memory)


def look_pieces(layout: Layout, memory: bytes) -> tuple[Chunk, ...]:
    """The player's region of a memory, from its first place to its last, places and spares, by the
    memory's own addresses.

    One piece, but where a later revision has put bench behind the look, or more of the bench's places: no
    byte of these is in it.
    """
    looks = [record for record in layout.records if record.kind in LOOK]
    others = sorted(
        (place, place + record.place_bytes)
        for record in layout.records
        if record not in looks
        for place in record.places
    )
    pieces = []
    start, end = layout.look_start, max(record.end for record in looks)
    for place, behind in others:
        if start <= place < end:
            pieces.append(Chunk(start, memory[start:place]))
            start = behind
    pieces.append(Chunk(start, memory[start:end]))
    return tuple(piece for piece in pieces if piece.data)


def blank_memory(layout: Layout) -> bytearray:
    """The whole memory, erased."""
    return bytearray([layout.product.chip.blank]) * layout.product.chip.size


def write_factory(layout: Layout, record: Record, memory: bytearray) -> None:
    """Writes the factory records of one kind into a memory."""
    for index, address in enumerate(record.places):
        slot = index if record.kind is Kind.PRESETS else 0
        if record.kind in (Kind.IDENTITY, Kind.BENCH) or index < record.numbers:
            values = factory_values(layout, record, slot)
            put(memory, address, encode(layout, record, address, FIRST_COUNTER, values))


def put(memory: bytearray, address: int, blob: bytes) -> None:
    """Writes bytes at an address inside the memory."""
    assert address >= 0 and address + len(blob) <= len(memory)
    memory[address : address + len(blob)] = blob


def wakes_engaged(layout: Layout) -> bool:
    """Whether a new unit starts engaged."""
    product = layout.product
    if product.wakes_from is None:
        return product.wakes is Wakes.ENGAGED
    selector = product.item(product.wakes_from)
    assert isinstance(selector, Selector)
    return selector.way(selector.default).name == "engaged"


def preset_codes(layout: Layout, slot: int) -> tuple[int, ...]:
    """The factory codes of a slot, one an item kept per preset: its preset's, else the defaults."""
    for preset in layout.product.presets:
        if preset.number == slot + 1:
            return preset.codes
    return tuple(item.default for item in layout.product.per_preset)


def _factory_value(layout: Layout, record: Record, field: Field, slot: int) -> int:
    product = layout.product
    match field.kind:
        case FieldKind.SLOT:
            return slot
        case FieldKind.ITEM if record.kind in (Kind.PRESETS, Kind.STATE):
            source = slot if record.kind is Kind.PRESETS else product.first_preset - 1
            names = [item.name for item in product.per_preset]
            return preset_codes(layout, source)[names.index(field.name)]
        case FieldKind.ITEM:
            return product.item(field.name).default
        case FieldKind.END_LOW | FieldKind.END_HIGH:
            return _read_part(layout, field).ends[field.kind is FieldKind.END_HIGH]
        case FieldKind.NAME:
            labels = {preset.number: preset.label for preset in product.presets}
            return text_value(labels.get(slot + 1, "").encode(), field, record.order)
        case FieldKind.LAST_PRESET:
            return product.first_preset - 1
        case FieldKind.ENGAGED:
            return int(wakes_engaged(layout))
        case FieldKind.PRODUCT_CODE:
            return product.code
        case FieldKind.HARDWARE:
            return HARDWARE_UNSAID
        case FieldKind.FINGERPRINT:
            return layout.fingerprint
        case FieldKind.TRIAL:
            return int(layout.trial)
        case FieldKind.MEASURED | FieldKind.SERIAL:
            return 0


def _read_part(layout: Layout, field: Field) -> Knob | Pedal:
    """The knob or pedal that a field of ends is of."""
    control = layout.product.control(field.name.rsplit("_", 1)[0].upper())
    assert isinstance(control, Knob | Pedal)
    return control
