"""Knots at equal distances of a power of two."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from paramc.tables.datum import Datum, data_of
from paramc.tables.knots import Corridor, Part, Span, between, settle
from paramc.tables.tunnel import Tunnel


@dataclass(frozen=True, slots=True)
class EvenGrid:
    """Knot i is the height at code i * 2^spacing; a height in between is read as `between` tells.

    In C: i = k >> spacing, and the fraction is (uint8_t)(k << (8 - spacing)), or (uint8_t)(k >> (spacing
    - 8)) where spacing is above 8. There is a knot past the last code.
    """

    entries: int
    datum: Datum
    spacing: int
    knots: tuple[int, ...]

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        at = k >> self.spacing
        place = k << 8 >> self.spacing
        return self.datum.value(
            between(self.datum.width, self.knots[at], self.knots[at + 1], place & 0xFF)
        )

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return len(self.knots) * self.datum.width // 8


def fit_even_grid(tunnel: Tunnel, *widths: int, pieces: int = 1) -> EvenGrid | None:
    """The even grid of fewest bytes with knots of one of these widths; None where there is none.

    pieces: a lower bound of the number of straight pieces, where it is known.
    """
    found = (
        _coarsest(tunnel, datum, heights, pieces) for datum, heights in data_of(tunnel, *widths)
    )
    return min((grid for grid in found if grid is not None), key=lambda grid: grid.flash_bytes, default=None)


def _coarsest(tunnel: Tunnel, datum: Datum, heights: Tunnel, pieces: int) -> EvenGrid | None:
    corridor = Corridor(heights)
    for spacing in range((tunnel.codes - 1).bit_length(), -1, -1):
        if ((tunnel.codes - 1) >> spacing) + 1 < pieces:
            continue
        knots = _knots(corridor, tunnel.codes, spacing)
        if knots is not None:
            word = (1 << datum.width) - 1
            grid = EvenGrid(tunnel.codes, datum, spacing, tuple(knot & word for knot in knots))
            if tunnel.holds([grid.value(k) for k in range(tunnel.codes)]):
                return grid
    return None


def _knots(corridor: Corridor, codes: int, spacing: int) -> tuple[int, ...] | None:
    parts, spans = [], [corridor.start]
    for part in _parts(codes, spacing):
        span: Span | None = corridor.through(part, spans[-1])
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
