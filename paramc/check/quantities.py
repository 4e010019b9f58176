"""Quantities against a unit: read from the source, said in messages, proposed as text."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from paramc.check import bounds
from paramc.frozen import dataclass
from paramc.numbers.quantity import Quantity, decimal_text
from paramc.numbers.real import Real, compare, to_text
from paramc.numbers.units import NO_UNIT, RATIO_TO_ONE, UNITS, Unit
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

LONGEST_LITERAL = 40
"""Characters of a number that a product file takes."""

_MESSAGE_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Asked:
    """What a written value is for, in the words of messages.

    what: 'default of param "Attack"'. write: what stands before the value in the source, "default".
    also: places that the value has to agree with. because: what else is worth knowing, a sentence each.
    """

    what: str
    write: str
    also: tuple[Mark, ...] = ()
    because: tuple[str, ...] = ()


def number_in(written: nodes.Quantity, unit: Unit, asked: Asked, found: list[Diagnostic]) -> Fraction | None:
    """The number in a unit; a quantity of another dimension is told, and gives None."""
    told: list[Diagnostic] = []
    base = bounds.measure(written, asked.what, unit.dimension, told)
    try_ = _with_its_unit(written, unit, asked)
    found.extend(replace(mistake, also=asked.also, try_=mistake.try_ or try_) for mistake in told)
    return None if base is None else base / unit.factor


def _with_its_unit(written: nodes.Quantity, unit: Unit, asked: Asked) -> str:
    """What was most likely meant by a number without a unit; "" where there is one."""
    if written.amount.unit != NO_UNIT or not asked.write:
        return ""
    meant = literal(written.amount.number, unit)
    return f"{asked.write} {meant}" if meant else ""


def measures(unit: Unit) -> str:
    """What is counted in a unit, after its name: "measures time"."""
    return f"measures {unit.dimension.value}" if unit.symbol else "is a plain number"


def literal(number: Fraction, unit: Unit) -> str | None:
    """A quantity as a source can say it, in the unit or else in the base unit of its dimension.

    None where it takes more digits than a literal may have.
    """
    base = (other for other in UNITS if other.dimension is unit.dimension and other.factor == 1)
    for candidate in (unit, *base):
        if candidate == RATIO_TO_ONE and number < 0:
            continue  # no sign may stand before 4:1; 4 x takes one
        there = Quantity(number, unit).to(candidate)
        digits = decimal_text(there.number).removeprefix("-")
        if not digits.startswith("about") and len(digits) <= LONGEST_LITERAL:
            return str(there)
    return None


def short_literal(near: Real, low: Real, high: Real, unit: Unit) -> str | None:
    """The quantity of fewest digits that rounds `near` and lies within low .. high, as a source can
    say it; None where no literal does."""
    for digits in range(1, LONGEST_LITERAL):
        number = Fraction(to_text(near, digits))
        if compare(number, low) >= 0 and compare(number, high) <= 0:
            return literal(number, unit)
    return None
