"""A taper, as it is felt: what stands at each half hour, and how much travel each third of the range owns."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Final

from paramc.frozen import dataclass
from paramc.image.codes import code_text, knob_turn, quantity_text
from paramc.layout.layout import Layout
from paramc.model.clocks import clock_text, left_flat
from paramc.model.items import Flag, Item, Param, Selector, Trim, kind_word
from paramc.model.laws import HALF, through_flat
from paramc.model.panel import CLOCK_DEGREES, travel_of_clock
from paramc.model.readings import code_of_reading
from paramc.model.scale import Scale
from paramc.numbers.real import multiply, nearest, subtract
from paramc.numbers.units import Unit
from paramc.tables.forms import value_at

FORMAT: Final = 1
"""The number of the form of this data."""

PARTS: Final = 240
"""The travel is drawn in so many equal parts."""

_FINE: Final = 10**6
_THOUSANDTHS: Final = 1000
_HALF_HOUR: Final = 30


@dataclass(frozen=True, slots=True)
class Position:
    """Where a knob points and what it gives there. value: what the code stands for. engine: the integer
    that the firmware computes for it; None where the item has none."""

    clock: str
    travel: Fraction
    code: int
    value: str
    engine: int | None


@dataclass(frozen=True, slots=True)
class Third:
    """A third of the range and the travel that it owns. share: of the travel, to a thousandth."""

    low: str
    high: str
    begins: str
    ends: str
    share: Fraction


@dataclass(frozen=True, slots=True)
class Curve:
    """The taper of a param or trim on its knob.

    turn: of the first knob that sets it, in degrees, or a plain one's. range, noon: as texts. positions: at
    both ends of the turn and every half hour between. thirds: of the range, from the end that is fully
    anticlockwise. values: the taper's at equal parts of the travel, in the unit, to a millionth of the range.
    """

    item: str
    kind: str
    label: str
    turn: Fraction
    set_by: str | None
    range: str
    noon: str
    unit: Unit
    flat: Fraction
    positions: tuple[Position, ...]
    thirds: tuple[Third, ...]
    values: tuple[Fraction, ...]


def curve_of(layout: Layout, item: Param | Trim) -> Curve:
    """How an item of a layout follows its knob."""
    scale, flat = item.scale, item.flat if isinstance(item, Param) else Fraction(0)
    turn = knob_turn(layout.product, item.name) or CLOCK_DEGREES
    return Curve(
        item=item.name,
        kind=kind_word(item),
        label=item.label,
        turn=turn,
        set_by=set_by(layout, item),
        range=f"{'off, then ' if scale.off_at_stop else ''}{quantity_text(scale.first, scale.unit)}"
        f" to {quantity_text(scale.last, scale.unit)}",
        noon=quantity_text(scale.at(HALF), scale.unit),
        unit=scale.unit,
        flat=flat,
        positions=tuple(_positions(layout, item, flat, turn)),
        thirds=tuple(_thirds(scale, flat, turn)),
        values=tuple(_values(scale, flat)),
    )


@dataclass(frozen=True, slots=True)
class Zone:
    """A way of a selector, or off or on of a flag, and the stretch of a knob's travel that gives it: from
    where it begins to where the next begins, both "" where no knob sets it."""

    way: str
    label: str
    code: int
    begins: str
    ends: str
    engine: int | None


def zones_of(layout: Layout, item: Selector | Flag) -> tuple[Zone, ...]:
    """What an item without a taper gives: its ways in order, which share the travel equally."""
    turn = knob_turn(layout.product, item.name)
    if isinstance(item, Selector):
        ways = [(code, way.name, way.label) for code, way in zip(item.places, item.ways, strict=True)]
    else:
        ways = [(0, "off", ""), (1, "on", "")]
    borders = [Fraction(at, len(ways)) for at in range(len(ways) + 1)]
    clocks = ["" if turn is None else clock_text(border, turn) for border in borders]
    return tuple(
        Zone(way, label, code, begins, ends, engine_value(layout, item, code))
        for (code, way, label), (begins, ends) in zip(ways, pairwise(clocks), strict=True)
    )


def engine_value(layout: Layout, item: Item, code: int) -> int | None:
    """What the firmware computes for a code; None of an item without an engine."""
    return next((value_at(one.table, code) for one in layout.engines if one.item == item.name), None)


def set_by(layout: Layout, item: Item) -> str | None:
    """The first control that sets an item, and where; None where none does."""
    first = next(iter(layout.product.setters(item.name)), None)
    return None if first is None else f"{first[1].control} in mode {first[0].name}"


def half_hours(turn: Fraction) -> tuple[Fraction, ...]:
    """The travels, 0 to 1, of both ends of a turn and of every half hour between."""
    most = int(turn) // 2 + 1  # minutes on either side of 12: two to a degree of the whole turn
    minutes = range(-(most * 2 // _HALF_HOUR + 1) * _HALF_HOUR, most * 2 + _HALF_HOUR, _HALF_HOUR)
    inner = [travel for each in minutes if 0 < (travel := travel_of_clock(each, turn)) < 1]
    return (Fraction(0), *inner, Fraction(1))


def _positions(layout: Layout, item: Param | Trim, flat: Fraction, turn: Fraction) -> Iterator[Position]:
    for travel in half_hours(turn):
        code = code_of_reading(item.scale, travel, flat=flat)
        yield Position(
            clock_text(travel, turn), travel, code, code_text(item, code), engine_value(layout, item, code)
        )


def _thirds(scale: Scale, flat: Fraction, turn: Fraction) -> Iterator[Third]:
    borders = [scale.first + (scale.last - scale.first) * Fraction(part, 3) for part in range(4)]
    travels = [left_flat(flat, scale.travel_of(border)) for border in borders]
    for part in range(3):
        width = subtract(travels[part + 1], travels[part])
        yield Third(
            low=_short(borders[part], scale),
            high=_short(borders[part + 1], scale),
            begins=clock_text(travels[part], turn),
            ends=clock_text(travels[part + 1], turn),
            share=Fraction(nearest(multiply(width, Fraction(_THOUSANDTHS))), _THOUSANDTHS),
        )


def _short(value: Fraction, scale: Scale) -> str:
    """A border of thirds to a thousandth of the range or so: nobody turns to it more closely."""
    places = 0
    while Fraction(1, 10**places) > abs(scale.last - scale.first) / 500:
        places += 1
    return quantity_text(Fraction(round(value * 10**places), 10**places), scale.unit)


def _values(scale: Scale, flat: Fraction) -> Iterator[Fraction]:
    width = scale.last - scale.first
    for part in range(PARTS + 1):
        value = scale.at(through_flat(Fraction(part, PARTS), flat))
        share = nearest(multiply(subtract(value, scale.first), _FINE / width))
        yield scale.first + width * Fraction(share, _FINE)
