"""Laws of travel: how a value follows a share of travel, and which travel gives a value.

Each law is one formula, worked out exactly or in doubles that know their error (paramc.numbers.arithmetic).
Values are plain numbers in one unit, from `first` at travel 0 to `last` at travel 1; either may be less.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias, TypeVar, assert_never

from paramc.frozen import dataclass
from paramc.model.monotone import through_points
from paramc.numbers.arithmetic import REALS, Arithmetic
from paramc.numbers.real import Real, divide, ln

HALF = Fraction(1, 2)
QUARTER = Fraction(1, 4)

_ZERO, _ONE, _TWO = Fraction(0), Fraction(1), Fraction(2)

N = TypeVar("N")


@dataclass(frozen=True, slots=True)
class Straight:
    """Equal change for equal travel."""


@dataclass(frozen=True, slots=True)
class Geometric:
    """Equal ratio for equal travel; both ends of one sign and not zero."""


@dataclass(frozen=True, slots=True)
class ThreePoint:
    """One exponential through both ends and noon, a value strictly between the ends."""

    noon: Fraction


@dataclass(frozen=True, slots=True)
class SCurve:
    """Steepest at noon. share: of the range at a quarter of the travel, above 0 and below 1/4.

    Up to noon the share of the range is (2 travel)^p / 2 with p = log2(1 / (2 share)); above, its mirror.
    """

    share: Fraction


@dataclass(frozen=True, slots=True)
class Points:
    """Through points of travel and value, the first and last of which are the ends of both; between them
    the monotone cubic of `monotone.through_points`."""

    points: tuple[tuple[Fraction, Fraction], ...]


Law: TypeAlias = Straight | Geometric | ThreePoint | SCurve | Points


def is_sound(law: Law, first: Fraction, last: Fraction) -> bool:
    """Whether a law leads from one end to the other, strictly in one direction."""
    if first == last:
        return False
    match law:
        case Straight():
            return True
        case Geometric():
            return first * last > 0
        case ThreePoint(noon):
            return min(first, last) < noon < max(first, last)
        case SCurve(share):
            return 0 < share < QUARTER
        case Points(points):
            if len(points) < 2 or points[0] != (_ZERO, first) or points[-1] != (_ONE, last):
                return False
            rises = last > first
            return all(a[0] < b[0] and a[1] != b[1] and (a[1] < b[1]) == rises for a, b in pairwise(points))
        case other:
            assert_never(other)


def value_at(of: Arithmetic[N], law: Law, first: Fraction, last: Fraction) -> Callable[[N], N]:
    """The value at a share of travel, 0 to 1, of a sound law."""
    add, multiply = of.add, of.multiply
    start, width = of.of(first), of.of(last - first)
    match law:
        case Straight():
            return lambda travel: add(start, multiply(width, travel))
        case Geometric():
            ratio = of.of(last / first)
            return lambda travel: multiply(start, of.power(ratio, travel))
        case ThreePoint(noon):
            if 2 * noon == first + last:
                return value_at(of, Straight(), first, last)
            # With r^2 = b the law is first + factor (b^x - 1).
            ratio_squared = _ratio(noon, first, last) ** 2
            factor = (last - first) / (ratio_squared - 1)
            base, scale, offset = of.of(ratio_squared), of.of(factor), of.of(first - factor)
            return lambda travel: add(offset, multiply(scale, of.power(base, travel)))
        case SCurve(share):
            bend = _bend(of, share)
            return lambda travel: add(start, multiply(width, bend(travel)))
        case Points(points):
            return of.cubic(through_points(points))
        case other:
            assert_never(other)


def travel_at(of: Arithmetic[N], law: Law, first: Fraction, last: Fraction) -> Callable[[N], N]:
    """The travel at which a sound law gives a value between the ends: what undoes value_at."""
    add, multiply = of.add, of.multiply
    width, start = of.of(1 / (last - first)), of.of(-first / (last - first))
    match law:
        case Straight():
            return lambda value: add(start, multiply(width, value))
        case Geometric():
            size, ratio = of.of(1 / first), of.of(divide(_ONE, ln(last / first)))
            return lambda value: multiply(of.ln(multiply(value, size)), ratio)
        case ThreePoint(noon):
            if 2 * noon == first + last:
                return travel_at(of, Straight(), first, last)
            ratio_squared = _ratio(noon, first, last) ** 2
            factor = (ratio_squared - 1) / (last - first)
            scale, offset = of.of(factor), of.of(1 - first * factor)
            ratio = of.of(divide(_ONE, ln(ratio_squared)))
            return lambda value: multiply(of.ln(add(offset, multiply(scale, value))), ratio)
        case SCurve(share):
            unbend = _unbend(of, share)
            return lambda value: unbend(add(start, multiply(width, value)))
        case Points(points):
            return of.cubic_inverse(through_points(points))
        case other:
            assert_never(other)


def past_flat(of: Arithmetic[N], share: Fraction) -> Callable[[N], N]:
    """What a share of a knob's travel counts as when `share` of the travel about noon is flat.

    Below, the travel counts as travel / (1 - share); above, as the mirror of that; between, as noon.
    """
    if share == 0:
        return lambda travel: travel
    add, minimum, maximum = of.add, of.minimum, of.maximum
    half, zero, steeper = of.of(HALF), of.of(_ZERO), of.of(1 / (1 - share))
    to_begin, to_end = of.of(-(1 - share) / 2), of.of(-(1 + share) / 2)

    def counts_as(travel: N) -> N:
        beyond = add(minimum(add(travel, to_begin), zero), maximum(add(travel, to_end), zero))
        return add(half, of.multiply(beyond, steeper))

    return counts_as


def through_flat(travel: Real, share: Fraction) -> Real:
    """past_flat of one travel, exactly. share is below 1, and 0 where nothing is flat."""
    return past_flat(REALS, share)(travel)


def undone(of: Arithmetic[N], law: Law) -> Callable[[N], N]:
    """The travel of a potentiometer of that law at which it gives a share of its value end to end.

    The law's values are shares, 0 at travel 0 and 1 at travel 1; so it cannot be Geometric.
    """
    return travel_at(of, law, _ZERO, _ONE)


def travel_of_reading(law: Law, share: Fraction) -> Real:
    """`undone` of one share, exactly. share is 0 to 1."""
    return undone(REALS, law)(share)


def _ratio(noon: Fraction, first: Fraction, last: Fraction) -> Fraction:
    return (last - noon) / (noon - first)


def _bend(of: Arithmetic[N], share: Fraction) -> Callable[[N], N]:
    """Travel to share of the range of an SCurve. Both halves are there at any travel, each held at noon
    beyond it, so that no double has to know on which side of noon it is."""
    return _two_halves(of, divide(ln(1 / (2 * share)), ln(_TWO)))


def _unbend(of: Arithmetic[N], share: Fraction) -> Callable[[N], N]:
    """Share of the range to travel of an SCurve: the same form with the exponent 1 / p."""
    return _two_halves(of, divide(ln(_TWO), ln(1 / (2 * share))))


def _two_halves(of: Arithmetic[N], exponent: Real) -> Callable[[N], N]:
    add, negate, multiply, minimum = of.add, of.negate, of.multiply, of.minimum
    half, one, two, bend = of.of(HALF), of.of(_ONE), of.of(_TWO), of.of(exponent)

    def below(x: N) -> N:
        return multiply(half, of.power(minimum(multiply(two, x), one), bend))

    def both(x: N) -> N:
        return add(add(below(x), half), negate(below(add(one, negate(x)))))

    return both
