"""Equal blocks of codes, each cut into as many equal parts as it needs."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from paramc.tables.certificate import Certificate
from paramc.tables.datum import Datum, data_of
from paramc.tables.knots import Corridor, Part, Span, between, settle
from paramc.tables.tunnel import Tunnel

MOST_PARTS = 255
"""A start is stored in one byte."""

_LEAST_SIZE = 4


@dataclass(frozen=True, slots=True)
class Blocks:
    """Block b is the codes from b * 2^size on, cut into starts[b + 1] - starts[b] equal parts; knot i is
    the height at the beginning of part i, and a height in between is read as `between` tells.

    In C, all in 16 bits:
        b = k >> size;   parts = starts[b + 1] - starts[b];   place = (k - (b << size)) * parts;
        i = starts[b] + (place >> size);   fraction = (uint8_t)(place << (8 - size)), or
        (uint8_t)(place >> (size - 8)) where size is above 8.
    So one product gives the part and the way in it: on AVR of two bytes where size is at most 8. There
    is a knot past the last code.
    """

    entries: int
    datum: Datum
    size: int
    starts: tuple[int, ...]
    knots: tuple[int, ...]

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        block = k >> self.size
        start = self.starts[block]
        place = (k - (block << self.size)) * (self.starts[block + 1] - start)
        assert place < 1 << 16
        at, fraction = start + (place >> self.size), (place << 8 >> self.size) & 0xFF
        return self.datum.value(between(self.datum.width, self.knots[at], self.knots[at + 1], fraction))

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return _bytes(len(self.starts), len(self.knots), self.datum.width)


def fit_blocks(tunnel: Tunnel, certificate: Certificate, *widths: int) -> Blocks | None:
    """The blocks of fewest bytes, with knots of one of these widths; None where there are none."""
    best: Blocks | None = None
    whole = (tunnel.codes - 1).bit_length()
    # From four blocks up and down, since a good first find cuts the rest short.
    sizes = sorted(range(min(_LEAST_SIZE, whole), whole + 1), key=lambda size: abs(size - whole + 2))
    for datum, heights in data_of(tunnel, *widths):
        corridor = Corridor(heights)
        for size in sizes:
            most = best.flash_bytes - 1 if best else 1 << 20
            found = _fit(tunnel, certificate, datum, corridor, size, most)
            best = found or best
    return best


def _bytes(starts: int, knots: int, width: int) -> int:
    return starts + knots * width // 8


def _fit(
    tunnel: Tunnel, certificate: Certificate, datum: Datum, corridor: Corridor, size: int, most: int
) -> Blocks | None:
    """Blocks of 2^size codes and at most so many bytes: block after block with the fewest parts that pass."""
    spans, parts, cuts = [corridor.start], list[Part](), list[int]()
    firsts = range(0, tunnel.codes, 1 << size)
    for first in firsts:
        stop = min(first + (1 << size), tunnel.codes)
        # A piece of the certificate that begins and ends in this block needs a part of its own, and so
        # do all but one of those of later blocks.
        least, later = _starts_within(certificate, first + 1, stop), _starts_within(certificate, stop + 1)
        limit = min(MOST_PARTS - sum(cuts) - (len(firsts) - len(cuts) - 1), 1 << size, ((1 << 16) - 1) >> size)
        for count in range(max(1, least), limit + 1):
            if _bytes(len(firsts) + 1, len(parts) + count + later + 1, datum.width) > most:
                return None
            pieces = list(_parts(first, stop, size, count))
            further = _spans(corridor, pieces, spans[-1])
            if further is not None:
                break
        else:
            return None
        cuts.append(count)
        parts += pieces
        spans += further
    knots = settle(spans, lambda at, entry, knot: corridor.back(parts[at], entry, knot))
    if knots is None:
        return None
    starts = tuple(accumulate(cuts, initial=0))
    word = (1 << datum.width) - 1
    table = Blocks(tunnel.codes, datum, size, starts, tuple(knot & word for knot in knots))
    return table if tunnel.holds([table.value(k) for k in range(tunnel.codes)]) else None


def _starts_within(certificate: Certificate, first: int, stop: int = 1 << 16) -> int:
    return max(0, bisect_left(certificate.starts, stop) - bisect_left(certificate.starts, first) - 1)


def _spans(corridor: Corridor, parts: Sequence[Part], entry: Span) -> list[Span] | None:
    spans = []
    for part in parts:
        further = corridor.through(part, entry)
        if further is None:
            return None
        spans.append(entry := further)
    return spans


def _parts(first: int, stop: int, size: int, count: int) -> Iterator[Part]:
    """The parts of the block at code `first` that have codes below `stop`."""
    for part in range(count):
        begin, end = -(-(part << size) // count), -(-((part + 1) << size) // count)
        end = min(end, stop - first)
        if begin >= end:
            return
        if size <= 8:
            places = range(begin * count << (8 - size), end * count << (8 - size), count << (8 - size))
            yield Part(first + begin, first + end, range(places.start - (part << 8), places.stop - (part << 8), places.step))
        else:
            yield Part(first + begin, first + end, [(place * count >> (size - 8)) & 0xFF for place in range(begin, end)])
