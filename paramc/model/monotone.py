"""The monotone cubic through points: C1, and never beyond two neighbouring points."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from paramc.numbers.cubic import Cubics, Piece


def through_points(points: Sequence[tuple[Fraction, Fraction]]) -> Cubics:
    """Through two points or more, x strictly rising, y strictly one-directional.

    The slope at an inner point is the weighted harmonic mean of the rises beside it (F. N. Fritsch and
    J. Butland, "A method for constructing local monotone piecewise cubic interpolants", SIAM Journal on
    Scientific and Statistical Computing 5, 1984). At an end it is that of the parabola through the three
    nearest points, or flat where that would turn back (C. Moler, "Numerical Computing with MATLAB", 2004).
    """
    widths = [b[0] - a[0] for a, b in pairwise(points)]
    rises = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)]
    slopes = _slopes(widths, rises)
    pieces = tuple(
        _piece(y, width, rise, before, after)
        for (_, y), width, rise, (before, after) in zip(points, widths, rises, pairwise(slopes), strict=False)
    )
    return Cubics(tuple(x for x, _ in points), pieces)


def _slopes(widths: Sequence[Fraction], rises: Sequence[Fraction]) -> list[Fraction]:
    if len(rises) == 1:
        return [rises[0], rises[0]]
    inner = [_inner_slope(*beside) for beside in zip(widths, widths[1:], rises, rises[1:], strict=False)]
    first = _end_slope(widths[0], widths[1], rises[0], rises[1])
    last = _end_slope(widths[-1], widths[-2], rises[-1], rises[-2])
    return [first, *inner, last]


def _inner_slope(width: Fraction, next_width: Fraction, rise: Fraction, next_rise: Fraction) -> Fraction:
    # Of two pieces the narrower one weighs more.
    weight, next_weight = width + 2 * next_width, 2 * width + next_width
    return (weight + next_weight) / (weight / rise + next_weight / next_rise)


def _end_slope(width: Fraction, next_width: Fraction, rise: Fraction, next_rise: Fraction) -> Fraction:
    slope = ((2 * width + next_width) * rise - width * next_rise) / (width + next_width)
    # Where rises differ in sign the slope is held to three times the first; here all have one sign.
    return slope if slope * rise > 0 else Fraction(0)


def _piece(y: Fraction, width: Fraction, rise: Fraction, before: Fraction, after: Fraction) -> Piece:
    bend = (3 * rise - 2 * before - after) / width
    twist = (before + after - 2 * rise) / width**2
    return y, before, bend, twist
