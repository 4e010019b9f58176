"""Doubles that know how wrong they may be: the fast road, which may say "I cannot tell" but never errs.

A `Near` is (value, error): the true number lies within value - error .. value + error. The error is never
below |value| * ROOM, far more than the operations here and those that look at the result can lose, so that
it holds with every mathematics library in use. An infinite or undefined error means that nothing is known;
every test on it must be written so that a comparison with NaN fails to decide.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from typing import Final

Near = tuple[float, float]

ROOM: Final = 2.0**-44
"""512 units in the last place: libraries in use keep exp, log and pow within a few."""

TINY: Final = 1e-290
"""Covers what underflow can lose, which no share of the value covers."""

UNKNOWN: Final[Near] = (0.0, math.inf)


FARTHEST_ANGLE: Final = 1e6
"""Radians beyond which a library's sine is not relied on."""


MULTIPLIED_OUT: Final = 16
"""Whole powers up to this are products; further ones go through a logarithm."""


_ONE_BY_LN_10: Final[Near] = (1 / math.log(10), ROOM)


def of_fraction(number: Fraction) -> Near:
    return ratio(number.numerator, number.denominator)


def ratio(above: int, below: int) -> Near:
    """above / below."""
    try:
        value = above / below
    except OverflowError:
        return UNKNOWN
    return value, abs(value) * ROOM + TINY


def settled(a: Near, rule: Callable[[float], int]) -> int | None:
    """The integer that a rule gives which never falls while its number grows; None where that is open."""
    value, error = a
    if error < 0.25:
        integer = rule(value - error)
        if integer == rule(value + error):
            return integer
    return None


def below(a: Near, b: Near) -> bool:
    """Whether a is certainly below b."""
    return b[0] - a[0] > a[1] + b[1]


def negate(a: Near) -> Near:
    return -a[0], a[1]


def absolute(a: Near) -> Near:
    return abs(a[0]), a[1]


# The errors are added, not compared: what is not known (NaN) must stay so.
def minimum(a: Near, b: Near) -> Near:
    return (a[0] if a[0] < b[0] else b[0]), a[1] + b[1]


def maximum(a: Near, b: Near) -> Near:
    return (a[0] if a[0] > b[0] else b[0]), a[1] + b[1]


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


def divide(a: Near, b: Near) -> Near:
    return multiply(a, reciprocal(b))


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


def raised(a: Near, b: Near) -> Near:
    """a ** b of an a that is certainly above zero."""
    base, exponent = a[0], b[0]
    if not (base > TINY and base > 2 * a[1]):
        return UNKNOWN
    try:
        value = base**exponent
        logarithm = abs(math.log(base))
    except OverflowError:
        return UNKNOWN
    # The error of exponent * ln(base), twice over: below 0.001 the power's share of error is not more.
    wrong = 2 * a[1] / base
    share = 2 * (abs(exponent) * wrong + (logarithm + wrong) * b[1])
    share += ROOM * (1 + abs(exponent) * (1 + logarithm))
    return (value, value * share + TINY) if share < 0.001 else UNKNOWN


def whole_power(a: Near, times: int) -> Near:
    """a to a whole number, of any sign both. Not even the power 0 is known of what is not known itself."""
    if not a[1] < math.inf:
        return UNKNOWN
    if abs(times) > MULTIPLIED_OUT:
        size = raised(absolute(a), ratio(times, 1))
        return negate(size) if times % 2 and a[0] < 0 else size
    value: Near = (1.0, ROOM)
    for _ in range(abs(times)):
        value = multiply(value, a)
    return reciprocal(value) if times < 0 else value


def sqrt(a: Near) -> Near:
    if not (a[0] > TINY and a[0] > 2 * a[1]):
        return UNKNOWN
    value = math.sqrt(a[0])
    return value, a[1] / value + value * ROOM


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


def lg(a: Near) -> Near:
    return multiply(ln(a), _ONE_BY_LN_10)


def sin(a: Near) -> Near:
    value, error = a
    if not (abs(value) < FARTHEST_ANGLE and error < 1):
        return UNKNOWN
    return math.sin(value), error + min(abs(value), 1.0) * ROOM + TINY


def cos(a: Near) -> Near:
    value, error = a
    if not (abs(value) < FARTHEST_ANGLE and error < 1):
        return UNKNOWN
    return math.cos(value), error + ROOM


def tan(a: Near) -> Near:
    return divide(sin(a), cos(a))
