"""Comparing and rounding real numbers, with as many digits as that takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_EVEN, ROUND_UP, Decimal
from fractions import Fraction
from typing import Final

from paramc.numbers import doubles
from paramc.numbers.enclosure import Precision, context
from paramc.numbers.irrational import GUARD_DIGITS, Real, enclosure_of, near_of

LIMIT_DIGITS: Final = 400
"""Significant digits after which two numbers that cannot be told apart count as equal."""

_STAGES: Final = (25, 50, 100, 200, LIMIT_DIGITS)


class Unsettled(ArithmeticError):
    """LIMIT_DIGITS digits do not even give the size: far too large, or the difference of such numbers."""


def compare(a: Real, b: Real) -> int:
    """-1, 0 or 1 as a is below, equal to or above b."""
    if isinstance(a, Fraction) and isinstance(b, Fraction):
        difference = a.numerator * b.denominator - b.numerator * a.denominator
        return (difference > 0) - (difference < 0)
    (x, wrong), (y, wrong_too) = near_of(a), near_of(b)
    apart, room = x - y, wrong + wrong_too
    if apart > room:
        return 1
    if apart < -room:
        return -1
    if a == b:
        return 0
    for precision in _precisions():
        low, high = enclosure_of(a, precision)
        other_low, other_high = enclosure_of(b, precision)
        if low > other_high:
            return 1
        if high < other_low:
            return -1
    _taken_as(low, high)
    _taken_as(other_low, other_high)
    return 0


def floor(a: Real) -> int:
    """The greatest integer that is not above a."""
    return _integer(a, math.floor)


def ceil(a: Real) -> int:
    """The least integer that is not below a."""
    return _integer(a, math.ceil)


def nearest(a: Real) -> int:
    """The nearest integer, a tie to the even one."""
    return _integer(a, round)


def to_text(a: Real, significant: int) -> str:
    """Decimal text correctly rounded to so many significant digits, a tie to the even one, without trailing
    zeros; with an exponent ("1.5e40") above 1e16 and below 1e-7."""
    half_even = context(significant, ROUND_HALF_EVEN)
    if isinstance(a, Fraction):
        return _text(half_even.divide(Decimal(a.numerator), Decimal(a.denominator)))
    for precision in _precisions():
        low, high = a.within(precision)
        rounded = half_even.plus(low)
        if rounded == half_even.plus(high) and rounded.is_finite():
            return _text(rounded)
    return _text(half_even.plus(_taken_as(low, high)))


def _precisions() -> Iterator[Precision]:
    return (Precision(digits + GUARD_DIGITS) for digits in _STAGES)


def _integer(a: Real, rule: Callable[[Fraction | float | Decimal], int]) -> int:
    """The integer that a rule gives which never falls while its number grows."""
    if isinstance(a, Fraction):
        return rule(a)
    settled = doubles.settled(a.near, rule)
    if settled is not None:
        return settled
    for precision in _precisions():
        low, high = a.within(precision)
        if max(low.adjusted(), high.adjusted()) < precision.digits and low.is_finite() and high.is_finite():
            integer = rule(low)
            if integer == rule(high):
                return integer
    return rule(_taken_as(low, high))


def _taken_as(low: Decimal, high: Decimal) -> Decimal:
    """The number that one counts as which LIMIT_DIGITS digits cannot tell from it."""
    digits = LIMIT_DIGITS // 2
    up, even = context(digits, ROUND_UP), context(digits, ROUND_HALF_EVEN)
    width = up.subtract(high, low)
    holds_zero = low <= 0 <= high
    size = Decimal(1) if holds_zero else min(low.copy_abs(), high.copy_abs())
    if not width <= even.multiply(size, Decimal((0, (1,), -digits))) or high.adjusted() > LIMIT_DIGITS:
        raise Unsettled(f"not settled with {LIMIT_DIGITS} digits")
    return Decimal(0) if holds_zero else even.plus(low)


def _text(number: Decimal) -> str:
    if number == 0:
        return "0"
    power_of_ten = number.adjusted()
    if -8 < power_of_ten < 17:
        plain = format(number, "f")
        return plain.rstrip("0").rstrip(".") if "." in plain else plain
    sign, digits, _ = number.as_tuple()
    written = "".join(map(str, digits)).rstrip("0")
    mantissa = f"{written[0]}.{written[1:]}" if len(written) > 1 else written
    return f"{'-' if sign else ''}{mantissa}e{power_of_ten}"
