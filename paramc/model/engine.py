"""The integer that the firmware wants for a code: conversions, rounding, and what is near enough."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias, assert_never

from paramc.numbers.formats import Format
from paramc.numbers.real import Real, ceil, compare, divide, floor, multiply, nearest, power
from paramc.numbers.units import Unit


@dataclass(frozen=True, slots=True)
class AsStored:
    """The code itself."""


@dataclass(frozen=True, slots=True)
class WhereOne:
    """value / one; one is in the item's unit (a level's in dB, counted from 0 dBu or 0 dBV)."""

    one: Fraction


@dataclass(frozen=True, slots=True)
class Gain:
    """A level difference in dB to an amplitude ratio: 10^(dB / 20)."""


@dataclass(frozen=True, slots=True)
class Samples:
    """A time to samples at a rate in Hz."""

    rate: Fraction


@dataclass(frozen=True, slots=True)
class Phase:
    """A frequency below half the rate (Hz) to the phase step 2^w f / rate of the format's width w."""

    rate: Fraction


Conversion: TypeAlias = AsStored | WhereOne | Gain | Samples | Phase


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far the sound may be off, counted in the item's own value.

    amount: in the item's unit, or a share of the value (0.01 for 1 %) where relative.
    """

    amount: Fraction
    relative: bool = False

    def around(self, value: Real) -> Real:
        """The width allowed on either side of a value."""
        if not self.relative:
            return self.amount
        size = value if compare(value, Fraction(0)) >= 0 else multiply(value, Fraction(-1))
        return multiply(size, self.amount)


@dataclass(frozen=True, slots=True)
class Engine:
    """Format, conversion and tolerance of an item's engine value."""

    format: Format
    conversion: Conversion
    tolerance: Tolerance | None = None
    or_nearest: bool = False

    def exact(self, value: Real, unit: Unit) -> Real:
        """The unrounded number for a value in a unit, scaled by the format's fraction bits.

        Not for AsStored, which looks at no value.
        """
        return multiply(self._converted(value, unit), Fraction(self.format.scale))

    def rounded(self, value: Real, unit: Unit) -> int:
        """The nearest integer, ties to even; it may lie outside the format."""
        return nearest(self.exact(value, unit))

    def _converted(self, value: Real, unit: Unit) -> Real:
        match self.conversion:
            case AsStored():
                raise ValueError("a stored code is not converted")
            case WhereOne(one):
                return divide(value, one)
            case Gain():
                return power(Fraction(10), divide(value, Fraction(20)))
            case Samples(rate):
                return multiply(value, unit.factor * rate)
            case Phase(rate):
                return multiply(value, unit.factor * (1 << self.format.bits) / rate)
            case other:
                assert_never(other)


@dataclass(frozen=True, slots=True)
class Legal:
    """The integers that are good for one code: lowest to highest (none where highest is less)."""

    lowest: int
    highest: int

    @property
    def none(self) -> bool:
        """Whether no integer is good."""
        return self.highest < self.lowest

    def nearest_to(self, number: int) -> int:
        """The good integer nearest to a number; the number itself where none is good."""
        return number if self.none else min(max(number, self.lowest), self.highest)


def between(one: Real, other: Real) -> Legal:
    """The integers between two numbers in any order, both included."""
    low, high = (one, other) if compare(one, other) <= 0 else (other, one)
    return Legal(ceil(low), floor(high))
