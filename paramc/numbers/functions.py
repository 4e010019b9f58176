"""Functions of real numbers beside those in `real` and `circular`: roots, decimal logarithms, the size of a
number, the lesser and the greater of two."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.numbers.decisions import compare
from paramc.numbers.irrational import Real
from paramc.numbers.real import divide, ln, negate, power

_HALF: Final = Fraction(1, 2)
_LN_10: Final = ln(Fraction(10))


def sqrt(a: Real) -> Real:
    """ValueError where a is below zero, which has no real root."""
    return power(a, _HALF)


def lg(a: Real) -> Real:
    """The logarithm to base 10, of powers of ten a fraction; ValueError where a is not above zero."""
    return divide(ln(a), _LN_10)


def absolute(a: Real) -> Real:
    return negate(a) if compare(a, Fraction(0)) < 0 else a


def minimum(a: Real, b: Real) -> Real:
    """The lesser of two; of two that count as equal the one that is a fraction."""
    order = compare(a, b)
    return a if order < 0 or (order == 0 and isinstance(a, Fraction)) else b


def maximum(a: Real, b: Real) -> Real:
    """The greater of two; of two that count as equal the one that is a fraction."""
    order = compare(a, b)
    return a if order > 0 or (order == 0 and isinstance(a, Fraction)) else b
