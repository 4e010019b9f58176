"""Sine, cosine and tangent of an angle in radians.

Of a fraction other than 0 all three are transcendental (Lindemann, Weierstrass), so that their decisions
always end. Of a fraction times pi they are rational only where Niven's theorem says, and are then fractions.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, inf, log10
from typing import Final

from paramc.frozen import dataclass
from paramc.numbers import doubles
from paramc.numbers.decisions import compare
from paramc.numbers.enclosure import Enclosure, Precision
from paramc.numbers.irrational import PI, Irrational, Linear, Real, enclosure_of, near_of
from paramc.numbers.real import negate

LONGEST_ANGLE: Final = 1000
"""Digits in front of the point up to which an angle is brought back into one turn."""

_ZERO: Final = Fraction(0)
_HALF: Final = Fraction(1, 2)
_ANYTHING: Final[Enclosure] = (Decimal(-1), Decimal(1))
# By the share of a half turn, 0 up to 1.
_RATIONAL_SINES: Final = {
    _ZERO: _ZERO,
    Fraction(1, 6): _HALF,
    _HALF: Fraction(1),
    Fraction(5, 6): _HALF,
}
_RATIONAL_TANGENTS: Final = {_ZERO: _ZERO, Fraction(1, 4): Fraction(1), Fraction(3, 4): Fraction(-1)}


def sin(a: Real) -> Real:
    turns = _half_turns(a)
    if turns is not None and turns % 1 in _RATIONAL_SINES:
        sine = _RATIONAL_SINES[turns % 1]
        return -sine if floor(turns) % 2 else sine
    if isinstance(a, Fraction) and a < 0:
        return negate(sin(-a))
    return Sin(doubles.sin(near_of(a)), a)


def cos(a: Real) -> Real:
    turns = _half_turns(a)
    if turns is not None and (turns + _HALF) % 1 in _RATIONAL_SINES:
        sine = _RATIONAL_SINES[(turns + _HALF) % 1]
        return -sine if floor(turns + _HALF) % 2 else sine
    if isinstance(a, Fraction) and a < 0:
        return cos(-a)
    return Cos(doubles.cos(near_of(a)), a)


def tan(a: Real) -> Real:
    """ZeroDivisionError where the cosine is zero or cannot be told from it."""
    turns = _half_turns(a)
    if turns is not None and turns % 1 in _RATIONAL_TANGENTS:
        return _RATIONAL_TANGENTS[turns % 1]
    if compare(cos(a), _ZERO) == 0:
        raise ZeroDivisionError("the tangent of a right angle")
    if isinstance(a, Fraction) and a < 0:
        return negate(tan(-a))
    return Tan(doubles.tan(near_of(a)), a)


@dataclass(frozen=True, slots=True)
class Sin(Irrational):
    of: Real

    def within(self, precision: Precision) -> Enclosure:
        return _sine(precision, _angle(self.of, precision), 0)


@dataclass(frozen=True, slots=True)
class Cos(Irrational):
    of: Real

    def within(self, precision: Precision) -> Enclosure:
        return _sine(precision, _angle(self.of, precision), 1)


@dataclass(frozen=True, slots=True)
class Tan(Irrational):
    """One node, and not a quotient, so that nested tangents do not grow as a power of two."""

    of: Real

    def within(self, precision: Precision) -> Enclosure:
        angle = _angle(self.of, precision)
        cosine = _sine(precision, angle, 1)
        return precision.multiply(_sine(precision, angle, 0), precision.reciprocal(cosine))


def _half_turns(a: Real) -> Fraction | None:
    """The fraction that makes pi the number, where that is plain to see."""
    if isinstance(a, Fraction):
        return None if a else a
    if a == PI:
        return Fraction(1)
    if isinstance(a, Linear) and a.offset == 0 and len(a.terms) == 1 and a.terms[0][1] == PI:
        return a.terms[0][0]
    return None


def _angle(of: Real, precision: Precision) -> Enclosure:
    """An angle with all its digits behind the point, however many are in front.

    The double says how many, where it knows: the tree is worked out once only, also where angles are nested.
    """
    value, error = near_of(of)
    largest = abs(value) + error
    in_front = ceil(log10(largest)) if 1 < largest < inf else 0
    return enclosure_of(of, Precision(precision.digits + in_front))


def _sine(precision: Precision, angle: Enclosure, quarters: int) -> Enclosure:
    """The sine of an angle to which no or one quarter of a turn is added.

    The angle's middle is brought to between about -pi/4 and pi/4. No sine changes faster than its angle, so
    what the angle may be off is added to both sides.
    """
    low, high = angle
    digits = precision.digits
    largest = max(low.copy_abs(), high.copy_abs())
    size = largest.adjusted()
    if not (low.is_finite() and high.is_finite()) or size > LONGEST_ANGLE:
        return _ANYTHING
    if largest == 0 or size < -digits:
        # |sin x| is below |x| by less than |x|^3 / 6, and cos x below 1 by less than x^2.
        down, up = precision.down, precision.up
        if quarters:
            return down.next_minus(Decimal(1)), Decimal(1)
        return (
            low if low <= 0 else down.next_minus(down.plus(low)),
            high if high >= 0 else up.next_plus(up.plus(high)),
        )
    work = Precision(2 * digits + 10 + max(size, 0))
    middle = work.down.multiply(work.down.add(low, high), Decimal("0.5"))
    spread = max(work.up.subtract(high, middle), work.up.subtract(middle, low))
    half_pi = work.multiply(work.pi(), work.fraction(_HALF))
    turned = round(Fraction(middle) / Fraction(half_pi[0]))
    rest = work.add((middle, middle), work.multiply(half_pi, work.fraction(Fraction(-turned))))
    unit = 10 ** (2 * digits + 10)
    from_below = floor(Fraction(rest[0]) * unit)
    unsure = floor(Fraction(rest[1]) * unit) - from_below + 1
    sine, cosine, terms = _series(from_below, unit)
    value = (sine, cosine, -sine, -cosine)[(turned + quarters) % 4]
    # Each term is off by less than two units, and so are those that are left out together.
    slack = unsure + 2 * (terms + 1)
    one = Decimal(unit)
    return (
        max(precision.down.subtract(precision.down.divide(Decimal(value - slack), one), spread), Decimal(-1)),
        min(precision.up.add(precision.up.divide(Decimal(value + slack), one), spread), Decimal(1)),
    )


def _series(angle: int, unit: int) -> tuple[int, int, int]:
    """Sine and cosine of an angle below 1, in units, and how many terms that took."""
    square = angle * angle // unit
    sine, cosine = angle, unit
    terms, above, below = 1, angle, unit
    while above or below:
        below = -below * square // (unit * (2 * terms - 1) * (2 * terms))
        above = -above * square // (unit * (2 * terms) * (2 * terms + 1))
        cosine, sine = cosine + below, sine + above
        terms += 1
    return sine, cosine, terms
