"""Values as people write them <-> stored codes: "350 ms", "at 2:30", "dotted", "on", "off"."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final, assert_never

from paramc.frozen import dataclass
from paramc.model.items import Flag, Item, Param, Selector, Trim, flat_of, is_off, kind_word
from paramc.model.panel import CLOCK_DEGREES, Knob, travel_of_clock
from paramc.model.product import Product
from paramc.model.readings import code_of_reading
from paramc.model.scale import Coded, Scale, Stepped
from paramc.numbers.quantity import Quantity, decimal_text, parse_quantity
from paramc.numbers.real import Real, compare, to_text
from paramc.numbers.units import UNITS, Unit
from paramc.numbers.wording import real_text

LEAST_DIGITS: Final = 3
"""Significant digits of a value that no short decimal meets, where its neighbours do not ask for more."""

_MOST_DIGITS: Final = 40
_LONGEST_SHOWN: Final = 40
_NAMES_SHOWN: Final = 8
_COMMA: Final = re.compile(r"[0-9],[0-9]")
_CLOCK: Final = re.compile("at[ \\t\u00a0\u2007\u2009\u202f]+([0-9]{1,2}):([0-9]{2})")


@dataclass(frozen=True, slots=True)
class Meant:
    """The code of a written value. stored: what it stands for, where that need not be the very value
    that was written: on a coded grid, or for a clock position."""

    code: int
    stored: str | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a written value has no code, as a whole sentence."""

    sentence: str


def meant_by(product: Product, item: Item, text: str) -> Meant | Fault:
    """The code that a written value gives an item, by the same rules as in a product file."""
    match item:
        case Param() | Trim():
            return _scaled(item, text, knob_turn(product, item.name) or CLOCK_DEGREES)
        case Selector():
            names = [way.name for way in item.ways]
            if text in names:
                return Meant(item.places[names.index(text)])
            shown = names if len(names) <= _NAMES_SHOWN else [*names[:_NAMES_SHOWN], "and others"]
            return _zone(product, item, text, f"write one of its ways: {', '.join(shown)}")
        case Flag():
            if text in ("on", "off"):
                return Meant(int(text == "on"))
            return _zone(product, item, text, "write on or off")
        case other:
            assert_never(other)


def code_text(item: Item, code: int) -> str:
    """What a code in use stands for, as it could be written: a quantity, the name of a way, on, off.

    Exact on a grid of steps. On a coded grid the shortest decimal that comes back as this code, of
    at least LEAST_DIGITS digits unless fewer are exact.
    """
    match item:
        case Param() | Trim():
            return "off" if is_off(item, code) else _value_text(item.scale, code)
        case Selector():
            return item.way(code).name
        case Flag():
            return "on" if code else "off"
        case other:
            assert_never(other)


def quantity_text(number: Real, unit: Unit) -> str:
    """A number and its unit for a message; one that no decimal meets begins with "about"."""
    return real_text(number, unit, LEAST_DIGITS)


def ends_text(scale: Scale) -> str:
    """Both ends for a message: "20 ms to 1200 ms"."""
    return f"{quantity_text(scale.first, scale.unit)} to {quantity_text(scale.last, scale.unit)}"


def shown(text: str) -> str:
    """What was written, cut where it is too long to read in a sentence."""
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."


def knob_turn(product: Product, item: str) -> Fraction | None:
    """The turn, in degrees, of the first knob that sets an item; None where none does."""
    for _, sets in product.setters(item):
        control = product.control(sets.control)
        if isinstance(control, Knob):
            return control.turn
    return None


def _value_text(scale: Scale, code: int) -> str:
    value = scale.value(code)
    if isinstance(scale.grid, Stepped):
        assert isinstance(value, Fraction)
        return str(Quantity(value, scale.unit))
    for digits in range(LEAST_DIGITS, _MOST_DIGITS):
        number = Fraction(to_text(value, digits))
        if scale.holds(number) and scale.nearest_code(number) == code:
            break
    return str(Quantity(number, scale.unit))


def _scaled(item: Param | Trim, text: str, turn: Fraction) -> Meant | Fault:
    scale = item.scale
    if text == "off" and scale.off_at_stop:
        return Meant(0)
    if found := _CLOCK.fullmatch(text):
        travel = _travel(item, found, turn)
        if isinstance(travel, Fault):
            return travel
        code = code_of_reading(scale, travel, flat=flat_of(item))
        return Meant(code, code_text(item, code))
    quantity = parse_quantity(text)
    if quantity is None and _COMMA.search(text):
        return _fault(item, text, "has a decimal comma; write a point")
    if quantity is None:
        or_off = ", or off" if scale.off_at_stop else ""
        return _fault(item, text, f"is no value; write a quantity from {ends_text(scale)}{or_off}")
    if quantity.dimension is not scale.unit.dimension:
        wanted = scale.unit.dimension
        units = ", ".join(unit.symbol for unit in UNITS if unit.dimension is wanted and unit.symbol)
        measures = f"measures {quantity.dimension.value}" if quantity.unit.symbol else "has no unit"
        return _fault(item, text, f"{measures}, and {wanted.value} belongs there ({units})")
    return _numbered(item, text, quantity.to(scale.unit).number)


def _numbered(item: Param | Trim, text: str, number: Fraction) -> Meant | Fault:
    """The code of a number in the scale's unit: exact on steps, the nearest where coded."""
    scale = item.scale
    if not scale.holds(number):
        before = (number < scale.first) == (scale.first < scale.last)
        nearest = code_text(item, 0 if before else scale.codes - 1)
        return _fault(item, text, f"is outside its range, {ends_text(scale)}; the nearest is {nearest}")
    if number == scale.first and scale.off_at_stop:
        first = code_text(item, 1)
        return _fault(
            item, text, f"is the end of its range that means off; write off, or the first value, {first}"
        )
    match scale.grid:
        case Stepped():
            exact = scale.exact_code(number)
            if exact is not None:
                return Meant(exact)
            below = int((number - scale.first) / scale.signed_step)
            neighbours = f"{code_text(item, below)} and {code_text(item, below + 1)}"
            return _fault(item, text, f"lies between two steps, {neighbours}")
        case Coded():
            code = scale.nearest_code(number)
            same = compare(scale.value(code), number) == 0
            return Meant(code, None if same else code_text(item, code))
        case other:
            assert_never(other)


def _zone(product: Product, item: Selector | Flag, text: str, wanted: str) -> Meant | Fault:
    """A knob on a selector or flag divides its travel into equal zones, the last up to its end."""
    found, turn = _CLOCK.fullmatch(text), knob_turn(product, item.name)
    if found is None:
        return _fault(item, text, f"is not known; {wanted}")
    if turn is None:
        return _fault(item, text, f"is where a knob points, and no knob sets this; {wanted}")
    travel = _travel(item, found, turn)
    if isinstance(travel, Fault):
        return travel
    zones = item.places if isinstance(item, Selector) else range(item.codes)
    code = zones[min(int(travel * len(zones)), len(zones) - 1)]
    return Meant(code, code_text(item, code))


def _travel(item: Item, found: re.Match[str], turn: Fraction) -> Fraction | Fault:
    """The share of travel at a clock position."""
    hour, minute = int(found[1]), int(found[2])
    minutes = hour % 12 * 60 + minute
    if not 1 <= hour <= 12 or minute > 59 or 300 < minutes < 420:
        return _fault(item, found[0], "is no place where a knob can point; 7:00 to 5:00 are")
    travel = travel_of_clock(minutes - 720 if minutes >= 420 else minutes, turn)
    if 0 <= travel <= 1:
        return travel
    most = int(turn)  # half a degree is a minute, so a knob points up to as many minutes from 12
    ends = f"{_clock_text(-most)} to {_clock_text(most)}"
    return _fault(
        item, found[0], f"is outside the turn of its knob, {ends} ({decimal_text(turn)} degrees)"
    )


def _clock_text(minutes: int) -> str:
    hours, rest = divmod(minutes % 720, 60)
    return f"{hours or 12}:{rest:02}"


def _fault(item: Item, text: str, what: str) -> Fault:
    return Fault(f"{kind_word(item).capitalize()} {item.name}: {shown(text)} {what}.")
