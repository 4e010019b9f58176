"""Knots at any codes, joined by straight lines, which takes a division to read."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import count, pairwise

from paramc.frozen import dataclass
from paramc.tables.datum import Datum, check_stored
from paramc.tables.knots import Span, reached, settle
from paramc.tables.stabbing import Point, stab
from paramc.tables.survey import NO_LIMIT, Ground, Survey

_FEW = 24
# Sixteenths of the way back from the farthest code: the knots that are tried. From the farthest one only a
# single line goes on, and often not far.
_BACK = (0, 1, 2, 3, 4, 6)


@dataclass(frozen=True, slots=True)
class FreeKnots:
    """heights[i] at code codes[i], the first 0 and the last entries - 1, rounded to the nearest between.

    In C, i the last but the very last with codes[i] <= k, the product and the division in 32 bits:
        run = codes[i + 1] - codes[i];   rise = heights[i + 1] - heights[i];
        heights[i] + (rise * (k - codes[i]) + run / 2) / run
    With heights of at most 16 bits the dividend is at most 65535 * 65535 + 32767, below 2^32. A code is
    one byte for at most 256 codes, else two. ValueError where a stored field does not fit.
    """

    datum: Datum
    codes: tuple[int, ...]
    heights: tuple[int, ...]

    def __post_init__(self) -> None:
        check_stored("A code of", self.codes, 16)
        check_stored("A height of", self.heights, min(self.datum.width, 16))
        if len(self.codes) < 2 or self.datum.width > 16:
            raise ValueError("the knots are not two or more of at most 16 bits")
        falls = any(a >= b for a, b in pairwise(self.codes)) or any(a > b for a, b in pairwise(self.heights))
        if self.codes[0] != 0 or len(self.codes) != len(self.heights) or falls:
            raise ValueError("the knots are not in order")

    @property
    def entries(self) -> int:
        """How many codes it answers for."""
        return self.codes[-1] + 1

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return len(self.codes) * _knot_bytes(self.entries, self.datum.width)

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        at = min(bisect_right(self.codes, k), len(self.codes) - 1) - 1
        run, rise = self.codes[at + 1] - self.codes[at], self.heights[at + 1] - self.heights[at]
        dividend = rise * (k - self.codes[at]) + run // 2
        return self.datum.value(self.heights[at] + dividend // run)


def fit_free_knots(survey: Survey, most: int = NO_LIMIT) -> FreeKnots | None:
    """The free knots of fewest bytes, at most `most`; None where there are none.

    One code alone has none, since a division wants two knots; nor have heights of 32 bits.
    """
    best: FreeKnots | None = None
    codes = survey.tunnel.codes
    if codes == 1:
        return None
    for ground in survey.grounds:
        if ground.datum.width > 16:
            continue
        route = _Route(ground)
        found = route.knots(most // _knot_bytes(codes, ground.datum.width))
        if found is None:
            continue
        table = FreeKnots(ground.datum, *found)
        if survey.tunnel.holds([table.value(k) for k in range(codes)]):
            best, most = table, table.flash_bytes - 1
    return best


def _knot_bytes(entries: int, width: int) -> int:
    return ((8 if entries <= 256 else 16) + width) // 8


class _Route:
    """The tunnel of a ground's heights, doubled once: a line may leave the legal ones by a half."""

    # Where the run is odd, run / 2 is rounded down in C and the half is a little more or less. So little
    # matters for where the knots go; their heights are then chosen by the very integers.

    def __init__(self, ground: Ground) -> None:
        self._heights = heights = ground.heights
        self._last = heights.codes - 1
        self._low = [2 * y - 1 for y in heights.low]
        self._high = [2 * y + 1 for y in heights.high]
        self._certificate = ground.certificate
        self._ends = (*ground.certificate.starts[1:], heights.codes, heights.codes)

    def knots(self, most: int) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """Codes and heights of the knots."""
        heights = self._heights
        codes, spans = [0], [Span(heights.low[0], heights.high[0])]
        while codes[-1] < self._last:
            if len(codes) + max(1, self._certificate.pieces_from(codes[-1])) > most:
                return None
            further = self._next(codes[-1], spans[-1])
            if further is None:
                return None
            codes.append(further[0])
            spans.append(further[1])
        found = settle(spans, lambda at, entry, knot: self._back(codes[at], codes[at + 1], entry, knot))
        return None if found is None else (tuple(codes), found)

    def _next(self, start: int, entry: Span) -> tuple[int, Span] | None:
        """The knot after this one from which the following link goes farthest."""
        farthest = self._reach(start, entry)
        best: tuple[int, int, Span] | None = None
        for part in _BACK:
            end = farthest - (farthest - start) * part // 16
            span = self._span(start, end, entry) if end > start else None
            if span is not None:
                if end == self._last:
                    return end, span
                onward = self._reach(end, span), end, span
                if best is None or onward[:2] > best[:2]:
                    best = onward
        if best is not None:
            return best[1:]
        # Nearer and nearer: a line to the very next code always has integers.
        while farthest > start:
            farthest = max(start + 1, (start + farthest) // 2)
            span = self._span(start, farthest, entry)
            if span is not None:
                return farthest, span
        return None

    def _points(self, start: int, stop: int) -> Iterator[Point]:
        return zip(count(1), self._low[start + 1 : stop], self._high[start + 1 : stop], strict=False)

    def _reach(self, start: int, entry: Span) -> int:
        """The last code that a line from this knot passes."""
        stop = self._ends[bisect_right(self._ends, start) + 1]
        _, missed = stab((0, 2 * entry.low, 2 * entry.high), self._points(start, stop))
        return stop - 1 if missed is None else start + missed[0] - 1

    def _span(self, start: int, end: int, entry: Span) -> Span | None:
        """Where a knot at code `end` may lie."""
        fan, _ = stab((0, 2 * entry.low, 2 * entry.high), self._points(start, end + 1))
        if fan is None:
            return None
        run = end - start
        low = max(self._heights.low[end], entry.low)
        if fan.flattest.rise >= 0:
            low = max(low, fan.flattest.ceil_at(run, 2))
        high = min(self._heights.high[end], fan.steepest.floor_at(run, 2))
        return reached(entry, low, high, _FEW, lambda knot: self._back(start, end, entry, knot))

    def _back(self, start: int, end: int, entry: Span, knot: int) -> Span | None:
        """Which integers within `entry` the knot at `start` may be when that at `end` is given."""
        run = end - start
        half = run // 2
        low, high = entry.low, min(entry.high, knot)
        bounds = zip(self._heights.low[start + 1 : end], self._heights.high[start + 1 : end], strict=True)
        for way, (least, most) in enumerate(bounds, 1):
            # Comparisons, since they take half as long as max and min: this is a tenth of the time of a fit.
            given, rest = knot * way + half, run - way
            if low * rest < least * run - given:
                low = -((given - least * run) // rest)
            if high * rest > (most + 1) * run - 1 - given:
                high = ((most + 1) * run - 1 - given) // rest
        return Span(low, high) if low <= high else None
