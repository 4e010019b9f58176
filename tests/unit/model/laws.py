"""Generated laws, and the same formulas in doubles as a second road."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import accumulate, pairwise

from hypothesis import strategies as st

from paramc.model.laws import Geometric, Law, Points, SCurve, Straight, ThreePoint

F = Fraction
SHARES = st.fractions(F(1, 50), F(49, 50), max_denominator=200)


@st.composite
def points(draw: st.DrawFn, first: Fraction, last: Fraction) -> Points:
    """Two to seven points from the first end to the last."""
    parts = st.lists(st.integers(1, 12), min_size=1, max_size=6)
    widths = draw(parts)
    heights = draw(st.lists(st.integers(1, 12), min_size=len(widths), max_size=len(widths)))
    xs = [F(x, sum(widths)) for x in accumulate(widths, initial=0)]
    ys = [first + (last - first) * F(y, sum(heights)) for y in accumulate(heights, initial=0)]
    return Points(tuple(zip(xs, ys, strict=True)))


def laws(first: Fraction, last: Fraction) -> st.SearchStrategy[Law]:
    """Any law that may lead from one end to the other."""
    kinds: list[st.SearchStrategy[Law]] = [
        st.just(Straight()),
        SHARES.map(lambda share: ThreePoint(first + (last - first) * share)),
        st.fractions(F(1, 200), F(49, 200), max_denominator=400).map(SCurve),
        points(first, last),
    ]
    if first * last > 0:
        kinds.append(st.just(Geometric()))
    return st.one_of(kinds)


def in_doubles(law: Law, first: float, last: float, x: float) -> float:
    """The formulas of the language, written once more and without care for the last digits."""
    width = last - first
    match law:
        case Straight():
            return first + width * x
        case Geometric():
            return math.copysign(math.exp(math.log(abs(first)) + x * math.log(last / first)), first)
        case ThreePoint(noon):
            r = (last - float(noon)) / (float(noon) - first)
            if abs(r - 1) < 1e-9:
                return first + width * x
            return first + width * math.expm1(2 * x * math.log(r)) / math.expm1(2 * math.log(r))
        case SCurve(share):
            p = math.log2(50 / (100 * share))
            bent = (2 * x) ** p / 2 if x <= 0.5 else 1 - (2 - 2 * x) ** p / 2
            return first + width * bent
        case Points(given):
            return _hermite([(float(a), float(b)) for a, b in given], x)


def _hermite(given: list[tuple[float, float]], x: float) -> float:
    """In the basis of Hermite, with slopes by another spelling of the weighted harmonic mean."""
    widths = [b[0] - a[0] for a, b in pairwise(given)]
    rises = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(given)]
    slopes = [rises[0]]
    if len(rises) > 1:
        slopes = [_at_end(*widths[:2], *rises[:2])]
        for (h0, h1), (d0, d1) in zip(pairwise(widths), pairwise(rises), strict=True):
            share = (h0 + 2 * h1) / (3 * (h0 + h1))
            slopes.append(d0 * d1 / (share * d1 + (1 - share) * d0))
        slopes.append(_at_end(*widths[:-3:-1], *rises[:-3:-1]))
    else:
        slopes = [rises[0], rises[0]]
    at = min(sum(x >= knot for knot, _ in given) - 1, len(widths) - 1)
    (x0, y0), (_, y1), h = given[at], given[at + 1], widths[at]
    t = (x - x0) / h
    return (
        y0 * (1 + 2 * t) * (1 - t) ** 2
        + h * slopes[at] * t * (1 - t) ** 2
        + y1 * t * t * (3 - 2 * t)
        + h * slopes[at + 1] * t * t * (t - 1)
    )


def _at_end(h0: float, h1: float, d0: float, d1: float) -> float:
    slope = d0 + (d0 - d1) * h0 / (h0 + h1)
    return slope if slope * d0 > 0 else 0.0
