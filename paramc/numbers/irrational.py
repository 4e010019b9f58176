"""The trees of numbers that are not known to be rational, each with its double and its enclosures."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import field
from fractions import Fraction
from typing import Final, TypeAlias

from paramc.frozen import dataclass
from paramc.numbers import doubles
from paramc.numbers.doubles import Near
from paramc.numbers.enclosure import Enclosure, Precision

GUARD_DIGITS: Final = 10
"""Digits beyond those asked for, which the steps of a tree lose."""


@dataclass(frozen=True, slots=True)
class Irrational(ABC):
    """A number that is not known to be rational. A new kind is a subclass with `within` and a constructor.

    Two trees that are equal are the same number; the reverse does not hold.
    """

    near: Near = field(compare=False, repr=False)

    def approx(self) -> Near:
        """The value as a double and a bound of its error, infinite where the double says nothing."""
        return self.near

    def enclose(self, digits: int) -> Enclosure:
        """Two decimals between which the number certainly lies, worked out with so many digits."""
        return self.within(Precision(digits + GUARD_DIGITS))

    @abstractmethod
    def within(self, precision: Precision) -> Enclosure:
        """The enclosure in that arithmetic."""


Real: TypeAlias = Fraction | Irrational


def near_of(a: Real) -> Near:
    return doubles.of_fraction(a) if isinstance(a, Fraction) else a.near


def enclosure_of(a: Real, precision: Precision) -> Enclosure:
    return precision.fraction(a) if isinstance(a, Fraction) else a.within(precision)


@dataclass(frozen=True, slots=True)
class Power(Irrational):
    """base ** exponent; base above 1 and no perfect power. Rational only if too long to write out."""

    base: Fraction
    exponent: Fraction

    def within(self, precision: Precision) -> Enclosure:
        logarithm = precision.ln(precision.fraction(self.base))
        return precision.exp(precision.multiply(logarithm, precision.fraction(self.exponent)))


@dataclass(frozen=True, slots=True)
class Exp(Irrational):
    of: Real

    def within(self, precision: Precision) -> Enclosure:
        return precision.exp(enclosure_of(self.of, precision))


@dataclass(frozen=True, slots=True)
class Ln(Irrational):
    """Of a number above zero; a fraction is above 1 and no perfect power."""

    of: Real

    def within(self, precision: Precision) -> Enclosure:
        return precision.ln(enclosure_of(self.of, precision))


@dataclass(frozen=True, slots=True)
class Pi(Irrational):
    def within(self, precision: Precision) -> Enclosure:
        return precision.pi()


@dataclass(frozen=True, slots=True)
class Reciprocal(Irrational):
    of: Irrational

    def within(self, precision: Precision) -> Enclosure:
        return precision.reciprocal(self.of.within(precision))


@dataclass(frozen=True, slots=True)
class Linear(Irrational):
    """offset + the sum of scale * number: one node however many steps made it. Scales are not zero, the
    numbers differ and are neither Linear nor fractions."""

    offset: Fraction
    terms: tuple[tuple[Fraction, Irrational], ...]

    def within(self, precision: Precision) -> Enclosure:
        total = precision.fraction(self.offset)
        for scale, number in self.terms:
            term = precision.multiply(precision.fraction(scale), number.within(precision))
            total = precision.add(total, term)
        return total


@dataclass(frozen=True, slots=True)
class Product(Irrational):
    """Two factors or more, none a Product."""

    factors: tuple[Irrational, ...]

    def within(self, precision: Precision) -> Enclosure:
        product = self.factors[0].within(precision)
        for factor in self.factors[1:]:
            product = precision.multiply(product, factor.within(precision))
        return product


PI: Final[Irrational] = Pi((math.pi, math.pi * doubles.ROOM))
