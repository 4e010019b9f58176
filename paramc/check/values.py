"""What a written value is as a stored code: quantities, ways, on and off, clock positions."""

from __future__ import annotations

from fractions import Fraction
from typing import assert_never

from paramc.check.nearest import Nearest
from paramc.check.quantities import Asked, literal, number_in
from paramc.check.value_rules import (
    CLOCK_OUTSIDE_TURN,
    NO_OFF,
    VALUE_KIND,
    VALUE_OFF_GRID,
    VALUE_OUTSIDE_RANGE,
    WAY_UNKNOWN,
)
from paramc.check.words import listed, quoted, short
from paramc.frozen import dataclass
from paramc.model.items import Flag, Item, Param, Selector, Trim, flat_of
from paramc.model.panel import CLOCK_DEGREES
from paramc.model.readings import code_of_reading
from paramc.model.scale import HALF, Scale, Stepped
from paramc.numbers.quantity import decimal_text
from paramc.numbers.real import Real, compare, floor, multiply, subtract
from paramc.numbers.wording import real_text
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Rule
from paramc.text.source import Span

NAMES_SHOWN = 8
"""So many names stand in a message at most."""


@dataclass(frozen=True, slots=True)
class Stored:
    """The code of a written value. taken: what it stands for, as text, where that need not be the
    very value that was written: on a coded grid, or for a clock position."""

    code: int
    taken: str | None = None


def item_code(
    value: nodes.Value, item: Item, turn: Fraction | None, asked: Asked, found: list[Diagnostic]
) -> Stored | None:
    """The code that a value gives an item; what is wrong is told, and gives None.

    turn: degrees of the first knob that sets the item; None where no knob does.
    """
    match item:
        case Param() | Trim():
            return _scaled(value, item, turn, asked, found)
        case Selector():
            return _way(value, item, turn, asked, found)
        case Flag():
            return _switched(value, item, turn, asked, found)
        case other:
            assert_never(other)


def number_code(
    number: Fraction, said: str, place: Span, scale: Scale, asked: Asked, found: list[Diagnostic]
) -> Stored | None:
    """The code of a number in the scale's unit: exact on steps, the nearest where coded.

    said: the number as it was written.
    """

    def refuse(rule: Rule, fault: str, fact: str, proposal: str | None) -> None:
        sentence = f"The {asked.what}, {said}, {fault}."
        try_ = f"{asked.write} {proposal}" if proposal else ""
        because = (*asked.because, fact) if fact else asked.because
        found.append(Diagnostic(rule, sentence, place, asked.also, because, try_))

    if not scale.holds(number):
        before = (number < scale.first) == (scale.first < scale.last)
        end = scale.first if before else scale.last
        off = before and scale.off_at_stop
        refuse(
            VALUE_OUTSIDE_RANGE,
            f"is outside its range, {ends_text(scale)}",
            f"The nearest is {'off' if off else real_text(end, scale.unit)}.",
            "off" if off else literal(end, scale.unit),
        )
        return None
    if number == scale.first and scale.off_at_stop:
        refuse(
            VALUE_OFF_GRID,
            "is the end of its range that means off, and is no value",
            f"The first value is {real_text(scale.value(1), scale.unit)}.",
            "off",
        )
        return None
    if not isinstance(scale.grid, Stepped):
        code = scale.nearest_code(number)
        meant = scale.value(code)
        return Stored(code, None if compare(meant, number) == 0 else real_text(meant, scale.unit))
    exact = scale.exact_code(number)
    if exact is not None:
        return Stored(exact)
    refuse(
        VALUE_OFF_GRID,
        f"lies between two steps, {neighbours(number, scale)}",
        "",
        near_step(number, scale),
    )
    return None


def ends_text(scale: Scale) -> str:
    """Both ends for a message: "20 ms to 1200 ms"."""
    return f"{real_text(scale.first, scale.unit)} to {real_text(scale.last, scale.unit)}"


def code_text(item: Item, code: int) -> str:
    """What a code stands for, for a message: a quantity, the label of a way, on or off."""
    match item:
        case Param() | Trim():
            off = code == 0 and item.scale.off_at_stop
            return "off" if off else real_text(item.scale.value(code), item.scale.unit)
        case Selector():
            return quoted(item.way(code).label)
        case Flag():
            return "on" if code else "off"
        case other:
            assert_never(other)


def neighbours(number: Real, scale: Scale) -> str:
    """The two codes on either side of a number that no step meets: "8 ms and 8.1 ms"."""
    below = floor(multiply(subtract(number, scale.first), 1 / scale.signed_step))
    first, second = (scale.first + code * scale.signed_step for code in (below, below + 1))
    off = below == 0 and scale.off_at_stop
    return f"{'off' if off else real_text(first, scale.unit)} and {real_text(second, scale.unit)}"


def near_step(number: Real, scale: Scale) -> str | None:
    """The value of the step nearest to a number inside the range, as a source can say it."""
    return literal(scale.first + scale.nearest_code(number) * scale.signed_step, scale.unit)


def clock_text(travel: Fraction, turn: Fraction = CLOCK_DEGREES) -> str:
    """Where a knob points at a share of its travel: "7:30". Between two minutes the one nearer to noon."""
    hours, minutes = divmod(int((travel - HALF) * turn * 2) % 720, 60)
    return f"{hours or 12}:{minutes:02d}"


def _scaled(
    value: nodes.Value, item: Param | Trim, turn: Fraction | None, asked: Asked, found: list[Diagnostic]
) -> Stored | None:
    scale = item.scale
    match value:
        case nodes.Quantity():
            number = number_in(value, scale.unit, asked, found)
            if number is None:
                return None
            return number_code(number, str(value.amount), value.span, scale, asked, found)
        case nodes.AtClock():
            travel = _travel(value, turn or CLOCK_DEGREES, asked, found)
            if travel is None:
                return None
            code = code_of_reading(scale, travel, flat=flat_of(item))
            return Stored(code, code_text(item, code))
        case nodes.Name(text="off") if scale.off_at_stop:
            return Stored(0)
        case nodes.Name(text="off"):
            sentence = f"The {asked.what} is off, and its range does not say off at stop."
            first = literal(scale.first, scale.unit)
            try_ = f"{asked.write} {first}" if first else ""
            found.append(Diagnostic(NO_OFF, sentence, value.span, asked.also, try_=try_))
            return None
        case nodes.Name():
            wanted = f"a quantity from {ends_text(scale)}"
            proposal = "off" if scale.off_at_stop else literal(scale.first, scale.unit)
            _refuse_kind(value, wanted, proposal, asked, found)
            return None
        case other:
            assert_never(other)


def _way(
    value: nodes.Value, item: Selector, turn: Fraction | None, asked: Asked, found: list[Diagnostic]
) -> Stored | None:
    names = [way.name for way in item.ways]
    if isinstance(value, nodes.AtClock) and turn is not None:
        return _zone(value, item, turn, asked, found)
    if not isinstance(value, nodes.Name):
        _refuse_kind(value, "the name of a way", short(names[item.default]), asked, found)
        return None
    if value.text in names:
        return Stored(names.index(value.text))
    sentence = f"The {asked.what} is {short(value.text)}, which is none of its ways."
    shown = names if len(names) <= NAMES_SHOWN else [*names[:NAMES_SHOWN], f"{len(names) - NAMES_SHOWN} more"]
    because = (f"The ways are {listed(short(name) for name in shown)}.",)
    try_ = f"{asked.write} {short(Nearest(names).to(value.text) or names[item.default])}"
    found.append(Diagnostic(WAY_UNKNOWN, sentence, value.span, asked.also, because, try_))
    return None


def _switched(
    value: nodes.Value, item: Flag, turn: Fraction | None, asked: Asked, found: list[Diagnostic]
) -> Stored | None:
    if isinstance(value, nodes.AtClock) and turn is not None:
        return _zone(value, item, turn, asked, found)
    if isinstance(value, nodes.Name) and value.text in ("on", "off"):
        return Stored(int(value.text == "on"))
    _refuse_kind(value, "on or off", "on" if item.default else "off", asked, found)
    return None


def _zone(
    value: nodes.AtClock, item: Selector | Flag, turn: Fraction, asked: Asked, found: list[Diagnostic]
) -> Stored | None:
    """A knob on a selector or flag divides its travel into equal zones, the last up to its end."""
    travel = _travel(value, turn, asked, found)
    if travel is None:
        return None
    code = min(int(travel * item.codes), item.codes - 1)
    return Stored(code, code_text(item, code))


def _travel(value: nodes.AtClock, turn: Fraction, asked: Asked, found: list[Diagnostic]) -> Fraction | None:
    """The share of travel of a clock position; an hour is 30 degrees."""
    travel = HALF + Fraction(value.clock.minutes, 2) / turn
    if 0 <= travel <= 1:
        return travel
    said = value.clock.span.text
    first, last = clock_text(Fraction(0), turn), clock_text(Fraction(1), turn)
    sentence = f"The {asked.what}, at {said}, is outside the turn of its knob, {first} to {last}."
    because = (f"The knob turns {decimal_text(turn)} degrees.",)
    try_ = f"{asked.write} at {first if travel < 0 else last}"
    found.append(Diagnostic(CLOCK_OUTSIDE_TURN, sentence, value.span, asked.also, because, try_))
    return None


def _refuse_kind(
    value: nodes.Value, wanted: str, proposal: str | None, asked: Asked, found: list[Diagnostic]
) -> None:
    match value:
        case nodes.Quantity(amount=amount):
            said = f"{amount}, a quantity"
        case nodes.Name(text=text):
            said = f"{short(text)}, a word"
        case nodes.AtClock(clock=clock):
            said = f"at {clock.span.text}, and no knob sets it"
        case other:
            assert_never(other)
    sentence = f"The {asked.what} is {said}; {wanted} belongs here."
    try_ = f"{asked.write} {proposal}" if proposal else ""
    found.append(Diagnostic(VALUE_KIND, sentence, value.span, asked.also, try_=try_))
