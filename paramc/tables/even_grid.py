"""Knots at equal distances of a power of two."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.frozen import dataclass
from paramc.tables.datum import Datum, check_size, check_stored
from paramc.tables.knots import Corridor, Part, between, check_rises, settle
from paramc.tables.survey import NO_LIMIT, Survey

MOST_PARTS = 256
"""The number of a part is one byte."""


@dataclass(frozen=True, slots=True)
class EvenGrid:
    """Knot i is the height at code i * 2^spacing; a height in between is read as `between` tells.

    In C, in 16 bits: place = k << (8 - spacing), or k >> (spacing - 8) where spacing is above 8; i is the
    upper byte of place and the fraction its lower byte. There is a knot past the last code. ValueError
    where a stored field or a place does not fit, or heights fall.
    """

    entries: int
    datum: Datum
    spacing: int
    knots: tuple[int, ...]

    def __post_init__(self) -> None:
        check_size(self.entries, self.spacing)
        parts = ((self.entries - 1) >> self.spacing) + 1
        if parts > MOST_PARTS or len(self.knots) != parts + 1:
            raise ValueError(f"{self.entries} codes and {len(self.knots)} knots do not go together")
        check_stored("A knot of", self.knots, self.datum.width)
        check_rises(self.datum.width, self.knots, self._place(self.entries - 1)[1])

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        at, fraction = self._place(k)
        return self.datum.value(between(self.datum.width, self.knots[at], self.knots[at + 1], fraction))

    def _place(self, k: int) -> tuple[int, int]:
        """The knot before code k, and the fraction of the way from it to the next."""
        return k >> self.spacing, (k << 8 >> self.spacing) & 0xFF

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return len(self.knots) * self.datum.width // 8


def fit_even_grid(survey: Survey, most: int = NO_LIMIT) -> EvenGrid | None:
    """The even grid of fewest bytes, at most `most`; None where there is none."""
    best: EvenGrid | None = None
    last = survey.tunnel.codes - 1
    for ground in survey.grounds:
        corridor = Corridor(ground)
        word = (1 << ground.datum.width) - 1
        for spacing in range(last.bit_length(), -1, -1):
            parts = (last >> spacing) + 1
            if parts < ground.certificate.pieces:
                continue
            if parts > MOST_PARTS or (parts + 1) * ground.datum.width // 8 > most:
                break
            knots = _knots(corridor, last + 1, spacing)
            if knots is None:
                continue
            grid = EvenGrid(last + 1, ground.datum, spacing, tuple(knot & word for knot in knots))
            if survey.tunnel.holds([grid.value(k) for k in range(last + 1)]):
                best, most = grid, grid.flash_bytes - 1
                break
    return best


def _knots(corridor: Corridor, codes: int, spacing: int) -> tuple[int, ...] | None:
    parts, spans = list[Part](), [corridor.start]
    for part in _parts(codes, spacing):
        span = corridor.through(part, spans[-1])
        if span is None:
            return None
        parts.append(part)
        spans.append(span)
    return settle(spans, lambda at, entry, knot: corridor.back(parts[at], entry, knot))


def _parts(codes: int, spacing: int) -> Iterator[Part]:
    for first in range(0, codes, 1 << spacing):
        stop = min(first + (1 << spacing), codes)
        if spacing <= 8:
            yield Part(first, stop, range(0, (stop - first) << (8 - spacing), 1 << (8 - spacing)))
        else:
            yield Part(first, stop, [place >> (spacing - 8) for place in range(stop - first)])
