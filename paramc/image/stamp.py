"""Production: the image of one unit, with its serial, board revision and trims."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from paramc.frozen import dataclass
from paramc.image.factory import FIRST_COUNTER, HARDWARE_UNSAID, factory_image, factory_values, put
from paramc.image.records import encode, text_value
from paramc.layout.layout import Field, FieldKind, Kind, Layout, Record


@dataclass(frozen=True, slots=True)
class Unit:
    """What the bench knows of one unit.

    serial: checked, ASCII. hardware: its place in the product's list; None where the product has no
    list. trims: names and codes of those that were measured; the others stay nominal.
    """

    serial: str
    hardware: int | None
    trims: tuple[tuple[str, int], ...] = ()


def stamp_image(layout: Layout, unit: Unit) -> bytes:
    """The factory image with one unit's identity and trims in it, those given marked as measured."""
    return stamper(layout)(unit)


def stamper(layout: Layout) -> Callable[[Unit], bytes]:
    """What makes the images of several units, one after the other; what they share is made once."""
    factory = factory_image(layout)
    ours = [
        (record, factory_values(layout, record))
        for record in layout.records
        if record.kind in (Kind.IDENTITY, Kind.BENCH)
    ]

    def image(unit: Unit) -> bytes:
        memory = bytearray(factory)
        for record, values in ours:
            stamped = _stamped(record, values, unit)
            for address in record.places:
                put(memory, address, encode(layout, record, address, FIRST_COUNTER, stamped))
        return bytes(memory)

    return image


def _stamped(record: Record, factory: Sequence[int], unit: Unit) -> tuple[int, ...]:
    """The values of an identity or bench record with what is known of the unit in their places."""
    trims = dict(unit.trims)
    # A trim and its bit stand under one permanent number; names alone could also be a control's.
    given = [field for field in record.fields if field.kind is FieldKind.ITEM and field.name in trims]
    measured = {field.number for field in given}

    def value(field: Field, nominal: int) -> int:
        match field.kind:
            case FieldKind.SERIAL:
                return text_value(unit.serial.encode("ascii"), field, record.order)
            case FieldKind.HARDWARE:
                return HARDWARE_UNSAID if unit.hardware is None else unit.hardware
            case FieldKind.ITEM:
                return trims.get(field.name, nominal)
            case FieldKind.MEASURED if field.number in measured:
                return 1
            case _:
                return nominal

    return tuple(value(field, nominal) for field, nominal in zip(record.fields, factory, strict=True))
