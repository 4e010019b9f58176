"""Intervals of decimals that are certain to hold a number, as narrow as the digits allow.

Sums, products and quotients are rounded outwards. The decimal library promises that exp and ln are correctly
rounded (the General Decimal Arithmetic specification, and Python's documentation of Decimal.exp and
Decimal.ln), so one step outwards on either side encloses them; its power makes no such promise, and powers
go through exp and ln.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from fractions import Fraction
from typing import Final

Enclosure = tuple[Decimal, Decimal]

# Within what every build of the library can do (a 32-bit one stops at 425 000 000), so that none differs.
_EXPONENT: Final = 400_000_000

_ZERO: Final = Decimal(0)
_ONE: Final = Decimal(1)
_ANYTHING: Final[Enclosure] = (Decimal("-Infinity"), Decimal("Infinity"))


def context(digits: int, rounding: str) -> Context:
    """A context that depends on nothing outside it and raises nothing: overflow is infinite, nonsense NaN."""
    return Context(digits, rounding, -_EXPONENT, _EXPONENT, capitals=0, clamp=0, flags=[], traps=[])


class Precision:
    """Interval arithmetic with a fixed number of significant digits."""

    __slots__ = ("digits", "down", "up")

    def __init__(self, digits: int) -> None:
        self.digits = digits
        self.down = context(digits, ROUND_FLOOR)
        self.up = context(digits, ROUND_CEILING)

    def fraction(self, number: Fraction) -> Enclosure:
        numerator, denominator = Decimal(number.numerator), Decimal(number.denominator)
        return self.down.divide(numerator, denominator), self.up.divide(numerator, denominator)

    def add(self, a: Enclosure, b: Enclosure) -> Enclosure:
        return _sound(self.down.add(a[0], b[0]), self.up.add(a[1], b[1]))

    def multiply(self, a: Enclosure, b: Enclosure) -> Enclosure:
        lows = [self.down.multiply(x, y) for x in a for y in b]
        highs = [self.up.multiply(x, y) for x in a for y in b]
        if any(value.is_nan() for value in lows):
            return _ANYTHING
        return min(lows), max(highs)

    def reciprocal(self, a: Enclosure) -> Enclosure:
        """Of a number that is not zero; nothing is known while its enclosure still holds zero."""
        if a[0] <= 0 <= a[1]:
            return _ANYTHING
        return self.down.divide(_ONE, a[1]), self.up.divide(_ONE, a[0])

    def exp(self, a: Enclosure) -> Enclosure:
        low = self.down.next_minus(self.down.exp(a[0]))
        return max(low, _ZERO), self.up.next_plus(self.up.exp(a[1]))

    def ln(self, a: Enclosure) -> Enclosure:
        """Of a number above zero; no lower bound is known while its enclosure still reaches zero."""
        if a[1] <= 0:
            return _ANYTHING
        low = self.down.next_minus(self.down.ln(a[0])) if a[0] > 0 else _ANYTHING[0]
        return low, self.up.next_plus(self.up.ln(a[1]))

    def pi(self) -> Enclosure:
        """By Machin's formula, 16 arctan(1/5) - 4 arctan(1/239), in integers."""
        unit = 10 ** (self.digits + 5)
        fifth, terms = _arctan_of_reciprocal(5, unit)
        small, _ = _arctan_of_reciprocal(239, unit)
        middle = 16 * fifth - 4 * small
        # Each term is short by less than two units, and so are those that are left out together.
        slack = 2 * (16 + 4) * (terms + 1)
        one = Decimal(unit)
        return self.down.divide(Decimal(middle - slack), one), self.up.divide(Decimal(middle + slack), one)


def _sound(low: Decimal, high: Decimal) -> Enclosure:
    return _ANYTHING if low.is_nan() or high.is_nan() else (low, high)


def _arctan_of_reciprocal(x: int, unit: int) -> tuple[int, int]:
    """arctan(1/x) in units, and how many terms of its series that took."""
    power = unit // x
    total, terms = 0, 0
    while power:
        total += (-1) ** terms * (power // (2 * terms + 1))
        power //= x * x
        terms += 1
    return total, terms
