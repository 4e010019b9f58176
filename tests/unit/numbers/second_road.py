"""Roots, exponentials and logarithms in plain integers: nothing here is shared with paramc.numbers.

A number is an integer count of units of 10**-PLACES. Every function is good to a few hundred units.
"""

from __future__ import annotations

from fractions import Fraction

PLACES = 120
ONE: int = 10**PLACES


def units(number: Fraction) -> int:
    return number.numerator * ONE // number.denominator


def root(number: Fraction, degree: int) -> int:
    """By halving an interval, not by Newton's steps."""
    aim: int = number.numerator * ONE**degree // number.denominator
    low, high = 0, ONE * (number.numerator // number.denominator + 2)
    while high - low > 1:
        middle = (low + high) // 2
        if middle**degree <= aim:
            low = middle
        else:
            high = middle
    return low


def exponential(number: int) -> int:
    """The series of exp at number / 2**64, squared 64 times, with 40 places more than asked for."""
    extra = 10**40
    small, one = number * extra >> 64, ONE * extra
    term = total = one
    count = 1
    while abs(term) > 1:
        term = term * small // (one * count)
        total += term
        count += 1
    for _ in range(64):
        total = total * total // one
    return total // extra


def logarithm(number: Fraction) -> int:
    """Twice the series of the inverse hyperbolic tangent, after halvings or doublings to 3/4 .. 3/2."""
    doublings = 0
    while number > Fraction(3, 2):
        number, doublings = number / 2, doublings + 1
    while number < Fraction(3, 4):
        number, doublings = number * 2, doublings - 1
    return _by_series(number) + doublings * (_by_series(Fraction(4, 3)) + _by_series(Fraction(3, 2)))


def _by_series(number: Fraction) -> int:
    x = units((number - 1) / (number + 1))
    power, total, odd = x, 0, 1
    while abs(power) > 1:
        total += power // odd
        power = power * x // ONE * x // ONE
        odd += 2
    return 2 * total
