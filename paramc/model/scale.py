"""How a param or trim divides its range: taper (travel to value) and grid (code to value).

All values here are plain numbers in the unit that the range is written in.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import TypeAlias, TypeVar, assert_never

from paramc.frozen import dataclass
from paramc.model.laws import (
    HALF,
    Geometric,
    Law,
    Points,
    SCurve,
    Straight,
    ThreePoint,
    travel_at,
    value_at,
)
from paramc.numbers.arithmetic import REALS, Arithmetic
from paramc.numbers.real import Real, add, compare, multiply, nearest, subtract
from paramc.numbers.units import Dimension, Unit

__all__ = [
    "HALF",
    "Coded",
    "Geometric",
    "Grid",
    "Law",
    "Points",
    "SCurve",
    "Scale",
    "Stepped",
    "Straight",
    "ThreePoint",
    "code_number",
    "code_value",
    "noon_claim_holds",
    "noon_reach",
]

N = TypeVar("N")


@dataclass(frozen=True, slots=True)
class Stepped:
    """Code k is the value k steps from the first end; step is positive, in the range's unit."""

    step: Fraction


@dataclass(frozen=True, slots=True)
class Coded:
    """Code k, 0 to 2^bits - 2, is the value at travel k / (2^bits - 2); bits is at least 2."""

    bits: int


Grid: TypeAlias = Stepped | Coded


@dataclass(frozen=True, slots=True)
class Scale:
    """The range, taper and grid of a param or trim.

    first and last: the values fully anticlockwise and fully clockwise; last may be below first.
    off_at_stop: code 0 means off and is no value.
    """

    unit: Unit
    first: Fraction
    last: Fraction
    law: Law
    grid: Grid
    off_at_stop: bool = False

    @property
    def codes(self) -> int:
        """How many codes there are; the highest is one less."""
        match self.grid:
            case Stepped(step):
                # In whole numbers, since this is asked thousands of times.
                first, last = self.first, self.last
                width = abs(last.numerator * first.denominator - first.numerator * last.denominator)
                below = first.denominator * last.denominator * step.numerator
                return width * step.denominator // below + 1
            case Coded(bits):
                return (1 << bits) - 1
            case other:
                assert_never(other)

    @property
    def signed_step(self) -> Fraction:
        """The change of value from one code to the next; only on a stepped grid."""
        assert isinstance(self.grid, Stepped)
        return self.grid.step if self.last > self.first else -self.grid.step

    @property
    def low(self) -> Fraction:
        """The lesser end."""
        return min(self.first, self.last)

    @property
    def high(self) -> Fraction:
        """The greater end."""
        return max(self.first, self.last)

    def at(self, travel: Real) -> Real:
        """The taper's value at a share of travel, 0 to 1."""
        return value_at(REALS, self.law, self.first, self.last)(travel)

    def travel_of(self, value: Real) -> Real:
        """The share of travel at which the taper gives a value inside the range: what undoes `at`. A
        fraction where that can be proved."""
        return travel_at(REALS, self.law, self.first, self.last)(value)

    def value(self, code: int) -> Real:
        """The value of a code, 0 up to codes - 1. Code 0 of an item that is off at its stop has none:
        asking for it is a mistake of the caller."""
        assert 0 <= code < self.codes and not (code == 0 and self.off_at_stop)
        return code_value(REALS, self)(code)

    def code_at(self, travel: Real) -> int:
        """The code at a share of travel: nearest in value on steps, in travel where coded; ties to
        the even code."""
        return nearest(code_number(REALS, self)(travel))

    def nearest_code(self, value: Real) -> int:
        """The code nearest to a value inside the range, counted as in code_at. Never the off code."""
        match self.grid:
            case Stepped():
                code = nearest(multiply(subtract(value, self.first), 1 / self.signed_step))
            case Coded(bits):
                code = self._nearest_coded(value, (1 << bits) - 2)
            case other:
                assert_never(other)
        return max(code, 1) if self.off_at_stop else code

    def exact_code(self, value: Fraction) -> int | None:
        """The code whose value is exactly this one, on a stepped grid; None where there is none."""
        steps = (value - self.first) / self.signed_step
        if steps.denominator != 1 or not 0 <= steps < self.codes or (steps == 0 and self.off_at_stop):
            return None
        return int(steps)

    def holds(self, value: Fraction) -> bool:
        """Whether a value lies in the range, ends included."""
        return self.low <= value <= self.high

    def _nearest_coded(self, value: Real, top: int) -> int:
        # The border between two codes is the taper's value half way between them. Comparing
        # there, and not rounding a logarithm, lets an exact tie be seen as one.
        rising = self.last > self.first
        low, high = 0, top
        while low < high:
            middle = (low + high) // 2
            order = compare(value, self.at(Fraction(2 * middle + 1, 2 * top)))
            if order == 0:
                return middle if middle % 2 == 0 else middle + 1
            if (order > 0) == rising:
                low = middle + 1
            else:
                high = middle
        return low


def code_value(of: Arithmetic[N], scale: Scale) -> Callable[[int], N]:
    """The value of each code that has one; see Scale.value."""
    match scale.grid:
        case Stepped():
            first, step = scale.first, scale.signed_step
            above, more = first.numerator * step.denominator, step.numerator * first.denominator
            below = first.denominator * step.denominator
            return lambda code: of.ratio(above + code * more, below)
        case Coded(bits):
            top, value = (1 << bits) - 2, value_at(of, scale.law, scale.first, scale.last)
            return lambda code: value(of.ratio(code, top))
        case other:
            assert_never(other)


def code_number(of: Arithmetic[N], scale: Scale) -> Callable[[N], N]:
    """The code at a share of travel before it is rounded; see Scale.code_at."""
    match scale.grid:
        case Stepped():
            value = value_at(of, scale.law, scale.first, scale.last)
            steps, start = of.of(1 / scale.signed_step), of.of(-scale.first)
            return lambda travel: of.multiply(of.add(value(travel), start), steps)
        case Coded(bits):
            top = of.ratio((1 << bits) - 2, 1)
            return lambda travel: of.multiply(travel, top)
        case other:
            assert_never(other)


def noon_reach(scale: Scale) -> tuple[Real, Real]:
    """The lowest and highest value that may be called the noon of a taper: half a step, or half a code
    where coded, on either side of its value at half travel, before any flat."""
    match scale.grid:
        case Stepped(step):
            noon = scale.at(HALF)
            return subtract(noon, step / 2), add(noon, step / 2)
        case Coded(bits):
            half_code = Fraction(1, 2 * ((1 << bits) - 2))
            before, after = scale.at(HALF - half_code), scale.at(HALF + half_code)
            return (before, after) if scale.first < scale.last else (after, before)
        case other:
            assert_never(other)


def noon_claim_holds(scale: Scale, noon: Fraction) -> bool:
    """Whether a noon, written beside a taper, is what the taper gives there, ends of noon_reach included."""
    low, high = noon_reach(scale)
    return compare(low, noon) <= 0 <= compare(high, noon)


def whole_numbers(scale: Scale, low: int, high: int) -> int | None:
    """The highest value of a scale that counts by whole numbers within low to high; None for another."""
    plain = scale.unit.dimension is Dimension.COUNT and not scale.off_at_stop
    whole = isinstance(scale.grid, Stepped) and scale.grid.step.denominator == 1
    inside = low <= scale.low and scale.high <= high and scale.low.denominator == 1
    return int(scale.high) if plain and whole and inside else None
