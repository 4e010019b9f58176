"""What stands in a record of each kind, and at which bits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from types import MappingProxyType
from typing import Final, TypeAlias, assert_never

from paramc.frozen import dataclass
from paramc.layout.earlier.things import NOTHING_BEFORE, Earlier
from paramc.layout.layout import HEAD_BYTES, Field, FieldKind, Kind
from paramc.model.items import Flag, Item, Param, Selector, Trim
from paramc.model.panel import Knob, Pedal
from paramc.model.product import Order, Product
from paramc.text.source import Span

BYTE_CODES = 256

_Thing: TypeAlias = Item | Knob | Pedal
"""What has a permanent number."""

COMMON_SAVES: Final[Mapping[Kind, int]] = MappingProxyType({Kind.SETUP: 1, Kind.PRESETS: 10, Kind.STATE: 30})
"""Saves a day where a file says none: settings changed daily, a day of editing one sound, a day of
playing with what plays now being kept. Common practice, on the cautious side."""


@dataclass(frozen=True, slots=True)
class Content:
    """The records of one kind before they have a place.

    copies: places wanted, at least one. numbers: how many different records share them. length:
    bytes with head, growth and checksum. saves: a day, as the file says or else COMMON_SAVES; 0 for
    the bench's kinds.
    """

    kind: Kind
    fields: tuple[Field, ...]
    copies: int
    numbers: int
    growth: int
    length: int
    order: Order
    saves: int

    def place_bytes(self, page: int) -> int:
        """Bytes of one place: whole pages, because nothing else may stand on one."""
        return -(-self.length // page) * page


def contents(product: Product, past: Earlier = NOTHING_BEFORE) -> tuple[Content, ...]:
    """What the memory holds, in the order of its regions.

    Bench and setup are left out where nothing is in them, or where the file asks for no copies of
    an empty one. past: the releases that give permanent numbers; lengths are those of the file alone.
    """
    holds = product.holds
    numbers = permanent_numbers(product, past)
    found = [_content(product, Kind.IDENTITY, _identity(holds.serial_characters), holds.identity_copies)]
    bench = tuple(_bench(product, numbers))
    if bench:
        assert holds.bench_copies > 0, "trims and measured ends have a place in bench"
        found.append(
            _content(product, Kind.BENCH, _packed(bench), holds.bench_copies, growth=holds.bench_growth)
        )
    setup = tuple(_setup(product, numbers))
    if setup:
        assert holds.setup_copies > 0, "what is kept once has a place in setup"
        found.append(
            _content(
                product,
                Kind.SETUP,
                _packed(setup),
                holds.setup_copies,
                growth=holds.setup_growth,
                saves=holds.setup_saves or COMMON_SAVES[Kind.SETUP],
            )
        )
    per_preset = sorted(product.per_preset, key=lambda it: numbers[it.name])
    sounds = tuple(_of(item, numbers) for item in per_preset)
    slot = _field("slot", FieldKind.SLOT, holds.preset_slots)
    name = (_text("name", FieldKind.NAME, holds.preset_names),) if holds.preset_names else ()
    found.append(
        _content(
            product,
            Kind.PRESETS,
            _packed((slot, *sounds, *name)),
            holds.preset_slots + holds.preset_spare,
            numbers=holds.preset_slots,
            growth=holds.preset_growth,
            saves=holds.preset_saves or COMMON_SAVES[Kind.PRESETS],
        )
    )
    last = _field("last_preset", FieldKind.LAST_PRESET, holds.preset_slots)
    engaged = _field("engaged", FieldKind.ENGAGED, 2)
    found.append(
        _content(
            product,
            Kind.STATE,
            _packed((last, engaged, *sounds)),
            holds.state_copies,
            growth=holds.state_growth,
            saves=holds.state_saves or COMMON_SAVES[Kind.STATE],
        )
    )
    return tuple(found)


def permanent_numbers(product: Product, past: Earlier = NOTHING_BEFORE) -> dict[str, int]:
    """The permanent number of each item and of each control with measured or learned ends, by its name.

    What earlier releases have keeps its number; what is new counts on behind the highest that was ever
    given, from 1 where there is none, in reading order. Names of items and controls never meet: items
    are written in small letters, controls in capitals.
    """
    fresh = count(past.highest + 1)
    numbers = {}
    for thing in _in_reading_order(product):
        given = _given(thing, past)
        numbers[thing.name] = next(fresh) if given is None else given
    return numbers


def _given(thing: _Thing, past: Earlier) -> int | None:
    return past.controls.get(thing.name) if isinstance(thing, Knob | Pedal) else past.number_of(thing)


def _in_reading_order(product: Product) -> list[_Thing]:
    things = [
        *(knob for knob in product.knobs if knob.measured),
        *(pedal for pedal in product.pedals if pedal.learned),
        *product.items,
    ]
    places = [thing.place for thing in things]
    first = places[0] if places else None
    if first is None or any(place is None or place.root is not first.root for place in places):
        return things
    # sorted() keeps the panel's order for things at one place.
    return sorted(things, key=lambda thing: _order(thing.place))


def _order(place: Span | None) -> tuple[int, ...]:
    return () if place is None else place.order


def _bench(product: Product, numbers: dict[str, int]) -> Iterator[Field]:
    for thing in sorted(_in_reading_order(product), key=lambda it: numbers[it.name]):
        match thing:
            case Knob(measured=True):
                name, number = thing.name.lower(), numbers[thing.name]
                yield _field(f"{name}_low", FieldKind.END_LOW, 1 << thing.adc_bits, number)
                yield _field(f"{name}_high", FieldKind.END_HIGH, 1 << thing.adc_bits, number)
                yield _field(f"{name}_measured", FieldKind.MEASURED, 2, number)
            case Trim():
                yield _of(thing, numbers)
                yield _field(f"{thing.name}_measured", FieldKind.MEASURED, 2, numbers[thing.name])
            case Param() | Selector() | Flag() | Knob() | Pedal():
                pass
            case other:
                assert_never(other)


def _setup(product: Product, numbers: dict[str, int]) -> Iterator[Field]:
    """What is kept once, and the ends of pedals that are learned; the player's, so no bit says measured."""
    once = {item.name for item in product.kept_once}
    for thing in sorted(_in_reading_order(product), key=lambda it: numbers[it.name]):
        if isinstance(thing, Pedal):
            name, number = thing.name.lower(), numbers[thing.name]
            yield _field(f"{name}_low", FieldKind.END_LOW, 1 << thing.adc_bits, number)
            yield _field(f"{name}_high", FieldKind.END_HIGH, 1 << thing.adc_bits, number)
        elif not isinstance(thing, Knob) and thing.name in once:
            yield _of(thing, numbers)


def _identity(serial_characters: int) -> tuple[Field, ...]:
    return _packed(
        (
            _field("product_code", FieldKind.PRODUCT_CODE, 1 << 16),
            _field("hardware", FieldKind.HARDWARE, 1 << 8),
            _field("fingerprint", FieldKind.FINGERPRINT, 1 << 32),
            _field("trial", FieldKind.TRIAL, 2),
            *([_text("serial", FieldKind.SERIAL, serial_characters)] if serial_characters else []),
        )
    )


def _of(item: Param | Selector | Flag | Trim, numbers: dict[str, int]) -> Field:
    return _field(item.name, FieldKind.ITEM, item.codes, numbers[item.name])


def _field(name: str, kind: FieldKind, codes: int, number: int | None = None) -> Field:
    return Field(name, kind, 0, (codes - 1).bit_length(), codes, number)


def _text(name: str, kind: FieldKind, size: int) -> Field:
    return Field(name, kind, 0, 8 * size, BYTE_CODES)


def _packed(fields: Iterable[Field]) -> tuple[Field, ...]:
    """The fields, each at the bit behind the one before."""
    placed = []
    bit = 8 * HEAD_BYTES
    for field in fields:
        placed.append(Field(field.name, field.kind, bit, field.width, field.codes, field.number))
        bit += field.width
    return tuple(placed)


def _content(
    product: Product,
    kind: Kind,
    fields: tuple[Field, ...],
    copies: int,
    *,
    numbers: int = 1,
    growth: int = 0,
    saves: int = 0,
) -> Content:
    # Anything that meets a memory of the maker's line must be able to read whose it is, so identity
    # is laid out alike in every product.
    order = Order.BIG if kind is Kind.IDENTITY else product.chip.order
    last = fields[-1]
    length = -(-(last.bit + last.width) // 8) + growth + product.chip.checksum.size
    return Content(kind, fields, copies, numbers, growth, length, order, saves)
