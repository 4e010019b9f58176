"""Knots joined by straight lines with a fraction of 8 bits: how the C reads between them, and their fit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby, pairwise

from paramc.frozen import dataclass
from paramc.tables.stabbing import Point, stab
from paramc.tables.survey import Ground

FRACTIONS = 256
"""A fraction counts in 256ths of the way from one knot to the next."""

_HALF = FRACTIONS // 2
# How few integers are few enough to look at each: with more, every end that real numbers find is reached.
_FEW = 6
# Bounds of searches that hardly ever come this far.
_MOST_ENDS = 32
_MOST_TRIES = 1 << 10


def between(width: int, one: int, next_one: int, fraction: int) -> int:
    """The height so many 256ths of the way from one knot to the next, in unsigned words of that width.

    In C, with T the unsigned type of that many bits and every product taken in T:
        T way = (T)(next_one - one);
        return (T)(one + (way >> 8) * fraction + (((way & 0xFF) * fraction + 128) >> 8));
    which is one + way * fraction / 256 rounded to the nearest: the higher bits of way give a whole number.
    (way >> 8) * fraction is below 2^width, and (way & 0xFF) * fraction + 128 at most 65153, which wants 16
    bits even where T has 8; for words of 16 bits both are products of two bytes on AVR. As the fraction
    grows to 255 the answer never falls and never passes next_one.

    All is modulo 2^width. So a knot past the last code may be stored modulo 2^width when it lies beyond
    the word: as long as the way to it is a word, the heights in between come out right.
    """
    word = (1 << width) - 1
    way = (next_one - one) & word
    high, low = (way >> 8) * fraction, (way & 0xFF) * fraction + _HALF
    assert 0 <= fraction < FRACTIONS and high <= word and low < 1 << 16
    return (one + high + (low >> 8)) & word


def check_rises(width: int, knots: Sequence[int], fraction: int) -> None:
    """ValueError where heights between these knots fall. fraction: of the last code, between the last two:
    if that one has not fallen, none before it has, not even by running over the word."""
    last = between(width, knots[-2], knots[-1], fraction)
    if any(a > b for a, b in pairwise((*knots[:-1], last))):
        raise ValueError("its heights fall")


@dataclass(frozen=True, slots=True)
class Part:
    """The codes first .. stop - 1, between two knots; fractions: the 256ths of the way, one a code, never
    less than the one before; a range where no two are equal."""

    first: int
    stop: int
    fractions: Sequence[int]


@dataclass(frozen=True, slots=True)
class Span:
    """Where a knot may lie, both ends included."""

    low: int
    high: int


class Corridor:
    """The tunnel of a ground's heights, scaled once for all the parts that are tried in it."""

    def __init__(self, ground: Ground) -> None:
        heights = ground.heights
        # The way between two knots is a word.
        self._most_way = (1 << ground.datum.width) - 1
        self._low = [FRACTIONS * y - _HALF for y in heights.low]
        self._high = [FRACTIONS * y + _HALF - 1 for y in heights.high]
        self._top = heights.high[-1]
        self.start = Span(heights.low[0], heights.high[0])

    def through(self, part: Part, entry: Span) -> Span | None:
        """Where the next knot may lie when this one lies within `entry`; None where nowhere.

        Lines that fall are left out. A height is legal exactly where 256 times the line lies within
        256 low - 128 .. 256 high + 127, so that this is stabbing in integers.
        """
        points = self._points(part)
        if points is None:
            return None
        low, high = entry.low, entry.high
        behind = iter(points)
        if part.fractions[0] == 0:
            _, least, most = next(behind)
            low, high = max(low, -(-least // FRACTIONS)), min(high, most // FRACTIONS)
        if low > high:
            return None
        fan, missed = stab((0, FRACTIONS * low, FRACTIONS * high), behind)
        if missed is not None:
            return None
        if fan is None:
            # There is no code but at the knot itself: where a line goes from there is all the same.
            return Span(low, self._top)
        if fan.steepest.rise < 0:
            return None
        least = fan.flattest.ceil_at(FRACTIONS, FRACTIONS)
        if fan.flattest.rise < 0:
            # The level lines are the lowest that do not fall, and the lowest of them touches a low.
            least = max(low, -(-self._low[part.stop - 1] // FRACTIONS))
        most = min(fan.steepest.floor_at(FRACTIONS, FRACTIONS), high + self._most_way)
        return reached(Span(low, high), least, most, _FEW, lambda knot: self._back(points, entry, knot))

    def back(self, part: Part, entry: Span, exit_knot: int) -> Span | None:
        """Which integers within `entry` a knot may be when the next one is given; None where none."""
        points = self._points(part)
        assert points is not None
        return self._back(points, entry, exit_knot)

    def _back(self, points: Sequence[Point], entry: Span, exit_knot: int) -> Span | None:
        low, high = max(entry.low, exit_knot - self._most_way), min(entry.high, exit_knot)
        # Comparisons, since they take half as long as max and min: this is a sixth of the time of a fit.
        for fraction, least, most in points:
            rest, given = FRACTIONS - fraction, exit_knot * fraction
            if low * rest < least - given:
                low = -((given - least) // rest)
            if high * rest > most - given:
                high = (most - given) // rest
        return Span(low, high) if low <= high else None

    def _points(self, part: Part) -> Sequence[Point] | None:
        """Fraction, low and high, each fraction once; None where no height is legal for all of one."""
        codes = slice(part.first, part.stop)
        points = list(zip(part.fractions, self._low[codes], self._high[codes], strict=True))
        if isinstance(part.fractions, range):
            return points
        # Codes that share a fraction share a height. Both bounds rise: the last low and first high rule.
        merged: list[Point] = []
        before, first_high = -1, 0
        for fraction, low, high in points:
            if fraction == before:
                high = first_high
                merged.pop()
            merged.append((fraction, low, high))
            before, first_high = fraction, high
        return None if any(low > high for _, low, high in merged) else merged


def reached(entry: Span, low: int, high: int, few: int, back: Callable[[int], Span | None]) -> Span | None:
    """The integers among low .. high that a line from an integer within `entry` reaches; None where none.

    back: the integers from which a line reaches a given one. low and high were found with real numbers.
    Where many integers may be begun from, all of low .. high are reached from one of them; where few may,
    some would need a beginning that is no integer, and the longest run of the others is taken.
    """
    if low > high or entry.high - entry.low >= few:
        return Span(low, high) if low <= high else None
    least = next((y for y in range(low, min(low + _MOST_ENDS, high) + 1) if back(y) is not None), None)
    if least is None:
        return None
    most = next((y for y in range(high, max(high - _MOST_ENDS, least), -1) if back(y) is not None), least)
    if most - least >= few:
        return Span(least, most)
    runs = groupby(range(least, most + 1), lambda knot: back(knot) is not None)
    longest = max((tuple(run) for hit, run in runs if hit), key=len)
    return Span(longest[0], longest[-1])


Back = Callable[[int, Span, int], Span | None]
"""The integers that knot i may be, i and a span given, when knot i + 1 is given; None where none."""


def settle(spans: Sequence[Span], back: Back) -> tuple[int, ...] | None:
    """Integer knots, one a span; None where none were found.

    spans[i]: where knot i may lie for the sake of what is before it. The last knot is chosen first, each
    in the middle of what is left to it; a knot for which those before find no integers is moved to the
    nearest that was not tried.
    """
    chosen: list[int] = []
    hopeless: set[tuple[int, int]] = set()
    left = [_from_middle(spans[-1])]
    for _ in range(len(spans) + _MOST_TRIES):
        knot = next(left[-1], None)
        if knot is None:
            left.pop()
            if not left:
                return None
            hopeless.add((len(left), chosen.pop()))
            continue
        if (len(left), knot) in hopeless:
            continue
        before = len(spans) - len(left) - 1
        if before < 0:
            return (knot, *reversed(chosen))
        span = back(before, spans[before], knot)
        if span is not None:
            chosen.append(knot)
            left.append(_from_middle(span))
    return None


def _from_middle(span: Span) -> Iterator[int]:
    """The integers of a span, from the middle outwards."""
    middle = (span.low + span.high) // 2
    yield middle
    for away in range(1, span.high - middle + 1):
        yield middle + away
        if middle - away >= span.low:
            yield middle - away
