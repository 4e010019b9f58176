"""Exact roots of fractions."""

from __future__ import annotations

from fractions import Fraction
from math import gcd, isqrt
from typing import Final

UNGUIDED_DEGREES: Final = 64
"""Bounds the work on a number that no small prime divides."""

_SMALL_PRIMES: Final = (2, 3, 5, 7)
_EXACT_BELOW: Final = 1 << 50


def perfect_power(number: Fraction) -> tuple[Fraction, int]:
    """The fraction above 1 that is no perfect power, and the exponent that makes it the given number.

    8 is (2, 3), 1/100 is (10, -2), 6 is (6, 1). The number is above zero and not 1. The answer is unique, so
    powers of one number are known by it. (In numbers without the factors 2, 3, 5 and 7 degrees above
    UNGUIDED_DEGREES are not looked for: such powers have 68 digits and more.)
    """
    if number.numerator < number.denominator:
        base, count = perfect_power(1 / number)
        return base, -count
    whole, under = number.numerator, number.denominator
    # A degree divides the number of times that each prime goes into either; most numbers are settled by it.
    common = 0
    for part in (whole, under):
        if part > 1:
            for prime in _SMALL_PRIMES:
                common = gcd(common, _times_in(part, prime))
            if common == 1:
                return number, 1
    count, degree = 1, 2
    while (whole if under == 1 else under).bit_length() > degree <= (common or UNGUIDED_DEGREES):
        roots = _roots(whole, under, degree) if common % degree == 0 else None
        if roots is None:
            degree += 1
        else:
            whole, under = roots
            common //= degree
            count *= degree
    return (number if count == 1 else Fraction(whole, under)), count


def _roots(whole: int, under: int, degree: int) -> tuple[int, int] | None:
    below = 1 if under == 1 else _root(under, degree)
    above = None if below is None else _root(whole, degree)
    return None if below is None or above is None else (above, below)


def _times_in(number: int, prime: int) -> int:
    """By prime, prime^2, prime^4 ... and back: few divisions, however long the number."""
    powers = [prime]
    while number % powers[-1] == 0:
        number //= powers[-1]
        powers.append(powers[-1] ** 2)
    times = (1 << (len(powers) - 1)) - 1
    for at in reversed(range(len(powers) - 1)):
        if number % powers[at] == 0:
            number //= powers[at]
            times += 1 << at
    return times


def _root(number: int, degree: int) -> int | None:
    """The exact root of a number above 1, None where there is none."""
    if degree == 2:
        root = isqrt(number)
    elif number < _EXACT_BELOW:
        # The double's root is off by far less than a half; whether it is the root is decided in integers.
        root = round(number ** (1 / degree))
    else:
        # Newton's steps from above fall until they reach the floor of the root.
        root = 1 << -(-number.bit_length() // degree)
        while (lower := ((degree - 1) * root + number // root ** (degree - 1)) // degree) < root:
            root = lower
    return root if root**degree == number else None
