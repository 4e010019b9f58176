"""How a param or trim divides its range: taper (travel to value) and grid (code to value).

All values here are plain numbers in the unit that the range is written in.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias, assert_never

from paramc.numbers.real import Real, add, compare, multiply, nearest, power, subtract
from paramc.numbers.units import Unit

HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Straight:
    """Equal change for equal travel."""


@dataclass(frozen=True, slots=True)
class Geometric:
    """Equal ratio for equal travel; both ends of one sign and not zero."""


@dataclass(frozen=True, slots=True)
class ThreePoint:
    """One exponential through both ends and noon, a value strictly between the ends."""

    noon: Fraction


Law: TypeAlias = Straight | Geometric | ThreePoint


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
                return int(abs(self.last - self.first) / step) + 1
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

    def at(self, travel: Fraction) -> Real:
        """The taper's value at a share of travel, 0 to 1."""
        match self.law:
            case Straight():
                return self.first + (self.last - self.first) * travel
            case Geometric():
                return multiply(self.first, power(self.last / self.first, travel))
            case ThreePoint(noon):
                r = (self.last - noon) / (noon - self.first)
                if r == 1:
                    return self.first + (self.last - self.first) * travel
                share = (self.last - self.first) / (r * r - 1)
                return add(self.first, multiply(share, subtract(power(r, 2 * travel), Fraction(1))))
            case other:
                assert_never(other)

    def value(self, code: int) -> Real:
        """The value of a code, 0 up to codes - 1. Code 0 of an item that is off at its stop has none:
        asking for it is a mistake of the caller."""
        assert 0 <= code < self.codes and not (code == 0 and self.off_at_stop)
        match self.grid:
            case Stepped():
                return self.first + code * self.signed_step
            case Coded(bits):
                return self.at(Fraction(code, (1 << bits) - 2))
            case other:
                assert_never(other)

    def code_at(self, travel: Fraction) -> int:
        """The code at a share of travel: nearest in value on steps, in travel where coded; ties to
        the even code."""
        match self.grid:
            case Stepped():
                return self._nearest_step(self.at(travel))
            case Coded(bits):
                return nearest(travel * ((1 << bits) - 2))
            case other:
                assert_never(other)

    def nearest_code(self, value: Real) -> int:
        """The code nearest to a value inside the range, counted as in code_at. Never the off code."""
        match self.grid:
            case Stepped():
                code = self._nearest_step(value)
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

    def _nearest_step(self, value: Real) -> int:
        return nearest(multiply(subtract(value, self.first), 1 / self.signed_step))

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
