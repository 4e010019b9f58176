"""Straight pieces that begin wherever the curve asks for it and need not meet."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import count, pairwise
from operator import sub

from paramc.frozen import dataclass
from paramc.tables.datum import WORDS, Datum, check_size, check_stored
from paramc.tables.stabbing import stab
from paramc.tables.survey import NO_LIMIT, Ground, Survey

MOST_PIECES = 256
"""A piece is counted in one byte."""

_SLOPES_TRIED = 5
# The width that wins most often first, since what it costs ends the search for the others early.
_SLOPE_WIDTHS = (16, 8, 32)


@dataclass(frozen=True, slots=True)
class FreeSegments:
    """From code starts[i] on, bases[i] and slopes[i] / 2^shift more for every code.

    In C, i the last with starts[i] <= k, the product in 32 bits, or in 16 where `product_width` says so:
        bases[i] + ((slopes[i] * (k - starts[i]) + half) >> shift),   half = 2^shift / 2, rounded down
    A start is one byte for at most 256 codes, else two. ValueError where a stored field, a product or a
    height does not fit, or heights fall.
    """

    entries: int
    datum: Datum
    starts: tuple[int, ...]
    bases: tuple[int, ...]
    slopes: tuple[int, ...]
    slope_width: int
    shift: int

    def __post_init__(self) -> None:
        check_size(self.entries, 0)
        if not len(self.starts) == len(self.bases) == len(self.slopes) > 0 or self.slope_width not in WORDS:
            raise ValueError("its pieces are not whole")
        if len(self.starts) > MOST_PIECES:
            raise ValueError(f"{len(self.starts)} pieces are more than a byte counts")
        if self.starts[0] != 0 or any(a >= b for a, b in pairwise((*self.starts, self.entries))):
            raise ValueError(f"{self.entries} codes do not begin at {self.starts}")
        check_stored("A start of", self.starts, start_width(self.entries))
        check_stored("A base of", self.bases, self.datum.width)
        check_stored("A slope of", self.slopes, self.slope_width)
        check_stored("A shift of", [self.shift], 5)
        check_stored("A product of", self._products(), 32)
        ends = [base + (way >> self.shift) for base, way in zip(self.bases, self._products(), strict=True)]
        check_stored("A height of", ends, self.datum.width)
        if any(end > base for end, base in zip(ends, self.bases[1:], strict=False)):
            raise ValueError("its heights fall")

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        at = bisect_right(self.starts, k) - 1
        product = self.slopes[at] * (k - self.starts[at]) + ((1 << self.shift) >> 1)
        return self.datum.value(self.bases[at] + (product >> self.shift))

    @property
    def product_width(self) -> int:
        """Bits that every product fits, its half added: 16 or 32."""
        return 16 if max(self._products()) < 1 << 16 else 32

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return len(self.starts) * _piece_bytes(self.entries, self.datum.width, self.slope_width)

    def _products(self) -> list[int]:
        """The greatest product of each piece, its half added."""
        half = (1 << self.shift) >> 1
        lasts = [start - 1 for start in (*self.starts[1:], self.entries)]
        pieces = zip(self.slopes, self.starts, lasts, strict=True)
        return [slope * (last - start) + half for slope, start, last in pieces]


@dataclass(frozen=True, slots=True)
class _Piece:
    start: int
    stop: int
    base: int
    slope: int


def fit_segments(survey: Survey, most: int = NO_LIMIT) -> FreeSegments | None:
    """The free segments of fewest bytes, at most `most`; None where there are none."""
    best: FreeSegments | None = None
    for ground in survey.grounds:
        steepest = _steepest(ground)
        for slope_width in _SLOPE_WIDTHS:
            # Binary places of the slopes: as many as the steepest leaves room for, or one less, since a
            # piece may come out a little steeper than it must. Products stay below 2^32.
            places = min(slope_width - steepest.bit_length(), 32 - ground.heights.high[-1].bit_length())
            bytes_each, here = _piece_bytes(survey.tunnel.codes, ground.datum.width, slope_width), None
            for shift in range(places, max(places - 2, -1), -1):
                table = _fit(survey, ground, slope_width, shift, most // bytes_each)
                if table is not None:
                    best = here = table
                    most = table.flash_bytes - 1
            if here is not None:
                # As many pieces with fewer places, whole bytes of them: products are shorter, and AVR shifts
                # bytes at once.
                shifts, pieces = range(0, here.shift, 8), len(here.starts)
                fewer = (_fit(survey, ground, slope_width, shift, pieces) for shift in shifts)
                best = next((table for table in fewer if table is not None), best)
    return best


def _fit(survey: Survey, ground: Ground, slope_width: int, shift: int, most: int) -> FreeSegments | None:
    """At most so many pieces whose slopes have so many binary places; None where there are none."""
    pieces = _Divider(ground, slope_width, shift).pieces(min(most, MOST_PIECES))
    if pieces is None:
        return None
    table = FreeSegments(
        survey.tunnel.codes,
        ground.datum,
        tuple(piece.start for piece in pieces),
        tuple(piece.base for piece in pieces),
        tuple(piece.slope for piece in pieces),
        slope_width,
        shift,
    )
    return table if survey.tunnel.holds([table.value(k) for k in range(table.entries)]) else None


def start_width(entries: int) -> int:
    """Bits of a code at which a piece begins."""
    return 8 if entries <= 256 else 16


def _piece_bytes(entries: int, width: int, slope_width: int) -> int:
    return (start_width(entries) + width + slope_width) // 8


def _steepest(ground: Ground) -> int:
    """A slope that some piece needs, heights a code, rounded down."""
    heights = ground.heights
    ends = (*ground.certificate.starts, heights.codes)
    return max(
        max(0, heights.low[end - 1] - heights.high[start]) // max(1, end - start - 1)
        for start, end in pairwise(ends)
    )


class _Divider:
    """The tunnel of a ground's heights, scaled once for slopes of so many binary places."""

    def __init__(self, ground: Ground, slope_width: int, shift: int) -> None:
        heights, half = ground.heights, (1 << shift) >> 1
        self._heights, self._shift, self._half = heights, shift, half
        self._most_slope = (1 << slope_width) - 1
        # What base * 2^shift + slope * (k - start) may be.
        self._low = [(y << shift) - half for y in heights.low]
        self._high = [((y + 1) << shift) - 1 - half for y in heights.high]
        self._certificate = ground.certificate
        self._ends = (*ground.certificate.starts[1:], heights.codes, heights.codes)

    def pieces(self, most: int) -> list[_Piece] | None:
        """Piece after piece as long as it goes, none beginning below where the one before has ended; None
        where more than so many are needed."""
        pieces = list[_Piece]()
        start, reached = 0, self._heights.low[0]
        while start < self._heights.codes:
            if len(pieces) + max(1, self._certificate.pieces_from(start)) > most:
                return None
            piece = self._longest(start, reached)
            pieces.append(piece)
            start = piece.stop
            way = piece.slope * (piece.stop - piece.start - 1)
            reached = piece.base + ((way + self._half) >> self._shift)
        return pieces

    def _longest(self, start: int, reached: int) -> _Piece:
        low = max(self._heights.low[start], reached)
        high = self._heights.high[start]
        # No line is longer than the certificate's piece that begins next: what passes from here on
        # through the end of that piece would pass through one code more of it than its best.
        stop = self._ends[bisect_right(self._ends, start) + 1]
        first = (0, low << self._shift, high << self._shift)
        shorten = max(1, (stop - start) // 64)
        while True:
            fan, missed = stab(
                first, zip(count(1), self._low[start + 1 : stop], self._high[start + 1 : stop], strict=False)
            )
            if fan is None:
                return _Piece(start, start + 1, (low + high) // 2, 0)
            if missed is not None:
                stop = start + missed[0]
            flattest = max(0, -(-fan.flattest.rise // fan.flattest.run))
            steepest = min(self._most_slope, fan.steepest.rise // fan.steepest.run)
            for slope in _spread(flattest, steepest):
                base = self._base(start, stop, slope, low, high)
                if base is not None:
                    return _Piece(start, stop, base, slope)
            stop = max(start + 1, stop - shorten)
            shorten *= 2

    def _base(self, start: int, stop: int, slope: int, low: int, high: int) -> int | None:
        """The base in the middle of those that this slope leaves."""
        unit = 1 << self._shift
        if stop - start > 1:
            least = max(map(sub, self._low[start + 1 : stop], count(slope, slope)))
            most = min(map(sub, self._high[start + 1 : stop], count(slope, slope)))
            low, high = max(low, -(-least // unit)), min(high, most // unit)
        return (low + high) // 2 if low <= high else None


def _spread(low: int, high: int) -> Iterator[int]:
    """A few integers of low .. high, the middle first."""
    if low <= high:
        middle = (low + high) // 2
        yield middle
        for step in range(1, _SLOPES_TRIED):
            yield middle - (middle - low) * step // _SLOPES_TRIED
            yield middle + (high - middle) * step // _SLOPES_TRIED
