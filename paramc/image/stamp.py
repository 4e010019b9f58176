"""Production: the image of one unit, with its serial, board revision and trims."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from paramc.frozen import dataclass
from paramc.image.factory import FIRST_COUNTER, HARDWARE_UNSAID, factory_image, factory_values, put
from paramc.image.records import encode_copies, text_value
from paramc.layout.layout import FieldKind, Kind, Layout, Record


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
        _template(layout, record)
        for record in layout.records
        if record.kind in (Kind.IDENTITY, Kind.BENCH)
    ]

    def image(unit: Unit) -> bytes:
        memory = bytearray(factory)
        for template in ours:
            record = template.record
            copies = encode_copies(layout, record, record.places, FIRST_COUNTER, template.values_of(unit))
            for address, copy in zip(record.places, copies, strict=True):
                put(memory, address, copy)
        return bytes(memory)

    return image


@dataclass(frozen=True, slots=True)
class _Template:
    """An identity or bench record as the factory writes it, and which of its fields are the unit's own.

    factory: its values. serial, hardware: the places of these among them, None where it has none. trims: by
    name the places of a trim's value and of the bit that says that it was measured.
    """

    record: Record
    factory: tuple[int, ...]
    serial: int | None
    hardware: int | None
    trims: Mapping[str, tuple[int, int]]

    def values_of(self, unit: Unit) -> list[int]:
        """The values with what is known of the unit in their places."""
        values = list(self.factory)
        if self.serial is not None:
            field = self.record.fields[self.serial]
            values[self.serial] = text_value(unit.serial.encode("ascii"), field, self.record.order)
        if self.hardware is not None:
            values[self.hardware] = HARDWARE_UNSAID if unit.hardware is None else unit.hardware
        for name, code in unit.trims:
            if name in self.trims:
                value, measured = self.trims[name]
                values[value], values[measured] = code, 1
        return values


def _template(layout: Layout, record: Record) -> _Template:
    places = {field.kind: at for at, field in enumerate(record.fields)}
    # A trim and its bit stand under one permanent number; names alone could also be a control's.
    bits = {field.number: at for at, field in enumerate(record.fields) if field.kind is FieldKind.MEASURED}
    trims = {
        field.name: (at, bits[field.number])
        for at, field in enumerate(record.fields)
        if field.kind is FieldKind.ITEM
    }
    values = factory_values(layout, record)
    return _Template(
        record, values, places.get(FieldKind.SERIAL), places.get(FieldKind.HARDWARE), trims
    )
