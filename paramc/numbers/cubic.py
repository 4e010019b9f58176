"""Functions made of cubic pieces that go one way, and what undoes them; exact in rationals.

The root of a cubic with rational coefficients is found as a fraction where it is one. Any other is
irrational, so that comparing it with a fraction always ends.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction
from math import lcm
from typing import Final, TypeVar

from paramc.frozen import dataclass
from paramc.numbers import doubles
from paramc.numbers.decisions import compare
from paramc.numbers.doubles import UNKNOWN, Near
from paramc.numbers.enclosure import Enclosure, Precision, context
from paramc.numbers.irrational import Irrational, Real, enclosure_of, near_of
from paramc.numbers.real import add, multiply, subtract

Piece = tuple[Fraction, Fraction, Fraction, Fraction]
"""c0, c1, c2, c3 of c0 + c1 d + c2 d^2 + c3 d^3."""

_N = TypeVar("_N", float, Decimal)

_STEPS: Final = 60
_WIDER: Final = 8
_WIDENINGS: Final = 8
_MOST_DIGITS: Final = 400


@dataclass(frozen=True, slots=True)
class Cubics:
    """pieces[i] is the function from knots[i] to knots[i + 1], counted from knots[i].

    Neighbours meet in value, and all strictly rise or all strictly fall; both is the maker's promise.
    """

    knots: tuple[Fraction, ...]
    pieces: tuple[Piece, ...]

    @property
    def values(self) -> tuple[Fraction, ...]:
        """The function at each knot."""
        last = _at(self.pieces[-1], self.knots[-1] - self.knots[-2])
        return (*(piece[0] for piece in self.pieces), last)

    @property
    def rising(self) -> bool:
        values = self.values
        return values[0] < values[-1]

    def value(self, x: Real) -> Real:
        """The function at x, which lies between the first knot and the last."""
        at = sum(compare(x, knot) >= 0 for knot in self.knots[1:-1])
        c0, c1, c2, c3 = self.pieces[at]
        d = subtract(x, self.knots[at])
        inner = add(multiply(add(multiply(c3, d), c2), d), c1)
        return add(multiply(inner, d), c0)


def near_values(cubics: Cubics) -> Callable[[Near], Near]:
    """The function in doubles; it says nothing where it cannot tell on which side of a knot x lies."""
    knots, pieces = _near_parts(cubics)
    inner = [value for value, _ in knots[1:-1]]

    def value(x: Near) -> Near:
        at = sum(x[0] >= knot for knot in inner)
        if (at and not doubles.below(knots[at], x)) or (
            at < len(inner) and not doubles.below(x, knots[at + 1])
        ):
            return UNKNOWN
        return _near_at(pieces[at], doubles.add(x, doubles.negate(knots[at])))

    return value


def arguments(cubics: Cubics) -> Callable[[Real], Real]:
    """What undoes the function: from a value between those at the ends to where it is taken."""
    near_argument, values, sign = near_arguments(cubics), cubics.values, 1 if cubics.rising else -1

    def argument(value: Real) -> Real:
        orders = [sign * compare(value, there) for there in values]
        if 0 in orders:
            return cubics.knots[orders.index(0)]
        at = min(max(sum(order > 0 for order in orders) - 1, 0), len(cubics.pieces) - 1)
        start = cubics.knots[at]
        root = CubicRoot(
            near_argument(near_of(value)), cubics.pieces[at], start, cubics.knots[at + 1] - start, value
        )
        rational = _rational(root, value) if isinstance(value, Fraction) else None
        return root if rational is None else rational

    return argument


def near_arguments(cubics: Cubics) -> Callable[[Near], Near]:
    """The same in doubles."""
    knots, pieces = _near_parts(cubics)
    values = [doubles.of_fraction(value) for value in cubics.values]
    sign = 1 if cubics.rising else -1

    def argument(value: Near) -> Near:
        at = sum(sign * value[0] >= sign * there for there, _ in values[1:-1])
        low, high = (values[at], values[at + 1]) if sign > 0 else (values[at + 1], values[at])
        if not (doubles.below(low, value) and doubles.below(value, high)):
            return UNKNOWN
        length = knots[at + 1][0] - knots[at][0]
        return doubles.add(knots[at], _near_root(pieces[at], length, value, sign))

    return argument


@dataclass(frozen=True, slots=True)
class CubicRoot(Irrational):
    """Where a piece, which begins at `start` and goes one way, takes a value that lies between its ends'."""

    piece: Piece
    start: Fraction
    length: Fraction
    value: Real

    def within(self, precision: Precision) -> Enclosure:
        low, high = enclosure_of(self.value, precision)
        below, above = Fraction(0), self.length
        if low.is_finite() and high.is_finite():
            lower, upper = Fraction(low), Fraction(high)
            close = self._close_to((lower + upper) / 2, precision.digits)
            step = max(close, self.length / 10**precision.digits) / 10**precision.digits
            if _at(self.piece, self.length) > self.piece[0]:
                below = _towards(below, close, step, lambda d: _at(self.piece, d) <= lower)
                above = _towards(above, close, step, lambda d: _at(self.piece, d) >= upper)
            else:
                below = _towards(below, close, step, lambda d: _at(self.piece, d) >= upper)
                above = _towards(above, close, step, lambda d: _at(self.piece, d) <= lower)
        return precision.fraction(self.start + below)[0], precision.fraction(self.start + above)[1]

    def _close_to(self, value: Fraction, digits: int) -> Fraction:
        """Where the piece comes close to a value; a proposal, of which nothing is promised."""
        c0, *others = self.piece
        with localcontext(context(digits + 5, ROUND_HALF_EVEN)):
            c0_less, c1, c2, c3, length = (
                Decimal(part.numerator) / Decimal(part.denominator)
                for part in (c0 - value, *others, self.length)
            )
            last = length * Decimal((0, (1,), -digits))
            d = _solved((c0_less, c1, c2, c3), length, last, 4 * digits)
        return min(Fraction(d), self.length)


def _towards(end: Fraction, start: Fraction, step: Fraction, proved: Callable[[Fraction], bool]) -> Fraction:
    """The first place from `start` on, in steps that grow, where something is proved; `end` at the latest."""
    d = start
    while d != end and not proved(d):
        d = max(d - step, end) if end < start else min(d + step, end)
        step *= _WIDER
    return d


def _solved(piece: tuple[_N, _N, _N, _N], length: _N, small: _N, steps: int) -> _N:
    """Where a piece that goes one way is zero: Newton's steps, and halves where these leave what is left."""
    c0, c1, c2, c3 = piece
    rising = ((c3 * length + c2) * length + c1) * length > 0
    low, high = 0 * length, length
    d = length / 2
    for _ in range(steps):
        height = ((c3 * d + c2) * d + c1) * d + c0
        low, high = (low, d) if (height > 0) == rising else (d, high)
        slope = (3 * c3 * d + 2 * c2) * d + c1
        moved = d - height / slope if slope else low
        if not low < moved < high:
            moved = (low + high) / 2
        if abs(moved - d) <= small:
            return moved
        d = moved
    return d


def _at(piece: Piece, d: Fraction) -> Fraction:
    c0, c1, c2, c3 = piece
    return ((c3 * d + c2) * d + c1) * d + c0


def _rational(root: CubicRoot, value: Fraction) -> Fraction | None:
    """The root as a fraction, where it is one.

    With whole coefficients the leading one times a rational root is whole, so that one candidate is left.
    """
    parts = (root.piece[0] - value, *root.piece[1:])
    leading = next(part for part in reversed(parts) if part) * lcm(*(part.denominator for part in parts))
    size = abs(leading) * (abs(root.start) + root.length + 1)
    digits = len(str(int(size))) + 5
    low, high = map(Fraction, root.within(Precision(digits)))
    # Where the curve is nearly flat there an enclosure is wider than its digits.
    while (high - low) * abs(leading) >= 1 and digits < _MOST_DIGITS:
        digits *= 2
        low, high = map(Fraction, root.within(Precision(digits)))
    d = round(leading * ((low + high) / 2 - root.start)) / leading
    return root.start + d if _at(root.piece, d) == value else None


def _near_parts(cubics: Cubics) -> tuple[list[Near], list[tuple[Near, Near, Near, Near]]]:
    of = doubles.of_fraction
    return [of(knot) for knot in cubics.knots], [(of(a), of(b), of(c), of(d)) for a, b, c, d in cubics.pieces]


def _near_at(piece: tuple[Near, Near, Near, Near], d: Near) -> Near:
    c0, c1, c2, c3 = piece
    add, multiply = doubles.add, doubles.multiply
    return add(multiply(add(multiply(add(multiply(c3, d), c2), d), c1), d), c0)


def _near_root(piece: tuple[Near, Near, Near, Near], length: float, value: Near, sign: int) -> Near:
    """Where a piece takes a value that is certainly between those at its ends; the error is proved."""
    (c0, _), (c1, _), (c2, _), (c3, _) = piece
    d = _solved((c0 - value[0], c1, c2, c3), length, length * doubles.ROOM / 256, _STEPS)
    slope = (3 * c3 * d + 2 * c2) * d + c1
    error = length * doubles.ROOM
    if slope:
        error += 2 * (_near_at(piece, (d, 0.0))[1] + value[1]) / abs(slope)
    for _ in range(_WIDENINGS):
        if not error < length / 1000:
            break
        low, high = max(d - error, 0.0), min(d + error, length)
        before, after = (_near_at(piece, (side, 0.0)) for side in ((low, high) if sign > 0 else (high, low)))
        if doubles.below(before, value) and doubles.below(value, after):
            return d, error + abs(d) * doubles.ROOM
        error *= _WIDER
    return UNKNOWN
