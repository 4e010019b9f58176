"""Doubles that know how wrong they may be: the fast road, which may say "I cannot tell" but never errs.

A `Near` is (value, error): the true number lies within value - error .. value + error. The error is never
below |value| * ROOM, far more than the operations here and those that look at the result can lose, so that
it holds with every mathematics library in use. An infinite or undefined error means that nothing is known;
every test on it must be written so that a comparison with NaN fails to decide.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

Near = tuple[float, float]

ROOM: Final = 2.0**-44
"""512 units in the last place: libraries in use keep exp, log and pow within a few."""

TINY: Final = 1e-290
"""Covers what underflow can lose, which no share of the value covers."""

UNKNOWN: Final[Near] = (0.0, math.inf)


def of_fraction(number: Fraction) -> Near:
    try:
        value = number.numerator / number.denominator
    except OverflowError:
        return UNKNOWN
    return value, abs(value) * ROOM + TINY


def add(a: Near, b: Near) -> Near:
    value = a[0] + b[0]
    return value, a[1] + b[1] + abs(value) * ROOM + TINY


def multiply(a: Near, b: Near) -> Near:
    value = a[0] * b[0]
    return value, abs(a[0]) * b[1] + abs(b[0]) * a[1] + a[1] * b[1] + abs(value) * ROOM + TINY


def reciprocal(a: Near) -> Near:
    size = abs(a[0])
    if not (size > TINY and size > 2 * a[1]):
        return UNKNOWN
    value = 1 / a[0]
    return value, 2 * a[1] / size / size + abs(value) * ROOM + TINY


def power(base: Fraction, exponent: Fraction) -> Near:
    """base ** exponent of a base above zero."""
    try:
        b = base.numerator / base.denominator
        e = exponent.numerator / exponent.denominator
        value = b**e if b > TINY else math.nan
        share = ROOM * (1 + abs(e) * (1 + abs(math.log(b))))
    except (OverflowError, ValueError):
        return UNKNOWN
    return (value, value * share + TINY) if share < 0.001 else UNKNOWN


def exp(a: Near) -> Near:
    if not a[1] < 0.001:
        return UNKNOWN
    try:
        value = math.exp(a[0])
    except OverflowError:
        return UNKNOWN
    return value, value * (2 * a[1] + ROOM) + TINY


def ln(a: Near) -> Near:
    if not (a[0] > TINY and a[0] > 2 * a[1]):
        return UNKNOWN
    value = math.log(a[0])
    return value, 2 * a[1] / a[0] + (abs(value) + 1) * ROOM
