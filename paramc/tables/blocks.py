"""Equal blocks of codes, each cut into as many equal parts as it needs."""

from __future__ import annotations

from itertools import accumulate, pairwise

from paramc.frozen import dataclass
from paramc.tables.datum import Datum, check_size, check_stored
from paramc.tables.knots import Corridor, Part, Span, between, check_rises, settle
from paramc.tables.survey import NO_LIMIT, Ground, Survey

MOST_PARTS = 255
"""A start is stored in one byte."""

_LEAST_SIZE = 4
# Further than a line through legal heights can be.
_ANYWHERE = Span(-(1 << 50), 1 << 50)


@dataclass(frozen=True, slots=True)
class Blocks:
    """Block b is the codes from b * 2^size on, cut into starts[b + 1] - starts[b] equal parts; knot i is
    the height at the beginning of part i, and a height in between is read as `between` tells.

    In C, in 16 bits, with in the way into block b in 65536ths, which is k << (16 - size) without what does
    not fit 16 bits:
        b = k >> size;   place = in * (uint8_t)(starts[b + 1] - starts[b]) >> 8;
        i = starts[b] + (place >> 8), and the fraction is the lower byte of place.
    So one product gives both the part and the way in it: on AVR of two bytes, and where size is above 8 of
    two more, the lower byte of in with the parts. There is a knot past the last code. ValueError where a
    stored field does not fit, or heights fall.
    """

    entries: int
    datum: Datum
    size: int
    starts: tuple[int, ...]
    knots: tuple[int, ...]

    def __post_init__(self) -> None:
        check_size(self.entries, self.size)
        check_stored("A start of", self.starts, 8)
        check_stored("A knot of", self.knots, self.datum.width)
        parts = [after - before for before, after in pairwise(self.starts)]
        last = self.entries - 1
        if not parts or self.starts[0] != 0 or min(parts) < 1 or len(parts) != (last >> self.size) + 1:
            raise ValueError(f"{self.entries} codes and blocks of {parts} parts do not go together")
        if len(self.knots) != self._place(last)[0] + 2:
            raise ValueError(f"blocks of {parts} parts and {len(self.knots)} knots do not go together")
        check_rises(self.datum.width, self.knots, self._place(last)[1])

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        at, fraction = self._place(k)
        return self.datum.value(between(self.datum.width, self.knots[at], self.knots[at + 1], fraction))

    def _place(self, k: int) -> tuple[int, int]:
        """The knot before code k, and the fraction of the way from it to the next."""
        block = k >> self.size
        start = self.starts[block]
        place = (k - (block << self.size)) * (self.starts[block + 1] - start)
        return start + (place >> self.size), (place << 8 >> self.size) & 0xFF

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return _bytes(len(self.starts), len(self.knots), self.datum.width)


def fit_blocks(survey: Survey, wide: bool, most: int = NO_LIMIT) -> Blocks | None:
    """The blocks of fewest bytes, at most `most`; None where there are none.

    wide: of more than 256 codes each, else of at most so many, which AVR computes in fewer bytes.
    """
    best: Blocks | None = None
    whole = (survey.tunnel.codes - 1).bit_length()
    sizes = range(9, whole + 1) if wide else range(min(_LEAST_SIZE, whole), min(8, whole) + 1)
    for ground in survey.grounds:
        corridor = Corridor(ground)
        # From about four blocks up and down, since a good first find cuts the rest short.
        for size in sorted(sizes, key=lambda size: abs(size - whole + 2)):
            found = _fit(survey, ground, corridor, size, most)
            if found is not None:
                best, most = found, found.flash_bytes - 1
    return best


def _bytes(starts: int, knots: int, width: int) -> int:
    return starts + knots * width // 8


def _fit(survey: Survey, ground: Ground, corridor: Corridor, size: int, most: int) -> Blocks | None:
    """Blocks of 2^size codes and at most so many bytes: block after block with the fewest parts that pass."""
    certificate, codes, width = ground.certificate, survey.tunnel.codes, ground.datum.width
    firsts = range(0, codes, 1 << size)
    spans, parts, counts = [corridor.start], list[Part](), list[int]()
    for first in firsts:
        stop = min(first + (1 << size), codes)
        # What is left for this block when all the others get no less than they need.
        later = certificate.pieces_from(stop)
        room = (most - len(firsts) - 1) * 8 // width - 1 - later - len(parts)
        room = min(room, MOST_PARTS - sum(counts) - max(later, len(firsts) - len(counts) - 1))
        least = max(1, certificate.pieces_from(first) - later)
        cut = _cut(corridor, spans[-1], first, stop, size, least, room)
        if cut is None:
            return None
        count, further_parts, further_spans = cut
        counts.append(count)
        parts += further_parts
        spans += further_spans
    knots = settle(spans, lambda at, entry, knot: corridor.back(parts[at], entry, knot))
    if knots is None:
        return None
    word = (1 << width) - 1
    starts = tuple(accumulate(counts, initial=0))
    table = Blocks(codes, ground.datum, size, starts, tuple(knot & word for knot in knots))
    return table if survey.tunnel.holds([table.value(k) for k in range(codes)]) else None


def _cut(
    corridor: Corridor, entry: Span, first: int, stop: int, size: int, least: int, most: int
) -> tuple[int, list[Part], list[Span]] | None:
    """The fewest equal parts, least .. most, of a block that pass, with the spans of the knots behind them.

    The part in which the last number of parts failed is tried first, alone: where no line at all passes
    it, nothing before it matters.
    """
    doubtful: int | None = None
    for count in range(least, min(most, 1 << size) + 1):
        if doubtful is not None:
            suspect = _part(first, stop, size, count, (doubtful - first) * count >> size)
            if corridor.through(suspect, _ANYWHERE) is None:
                continue
        parts, spans = list[Part](), list[Span]()
        for number in range(((stop - first - 1) * count >> size) + 1):
            part = _part(first, stop, size, count, number)
            span = corridor.through(part, spans[-1] if spans else entry)
            if span is None:
                doubtful = (part.first + part.stop) // 2
                break
            parts.append(part)
            spans.append(span)
        else:
            return count, parts, spans
    return None


def _part(first: int, stop: int, size: int, count: int, number: int) -> Part:
    """One of the equal parts of the block of 2^size codes at code `first`, as far as there are codes."""
    begin = -(-(number << size) // count)
    end = min(-(-((number + 1) << size) // count), stop - first)
    fractions: range | list[int]
    if size > 8:
        fractions = [(place * count >> (size - 8)) & 0xFF for place in range(begin, end)]
    else:
        step = count << (8 - size)
        fractions = range(begin * step - (number << 8), end * step - (number << 8), step)
    return Part(first + begin, first + end, fractions)
