"""One byte a code, added to a base that a run of codes shares."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.frozen import dataclass
from paramc.tables.datum import check_size, check_stored
from paramc.tables.table import FullTable, stored_bits

_BYTE = 1 << 8


@dataclass(frozen=True, slots=True)
class OffsetTable:
    """bases[k >> spacing] + offsets[k], an offset being one byte without a sign. ValueError where they do not
    go together."""

    bases: tuple[int, ...]
    offsets: tuple[int, ...]
    spacing: int

    def __post_init__(self) -> None:
        check_size(len(self.offsets), self.spacing)
        check_stored("An offset of", self.offsets, 8)
        if len(self.bases) != ((self.entries - 1) >> self.spacing) + 1:
            raise ValueError(f"{self.entries} offsets and {len(self.bases)} bases do not go together")

    @property
    def entries(self) -> int:
        """How many codes it answers for."""
        return len(self.offsets)

    def value(self, k: int) -> int:
        """What the C computes for code k, 0 .. entries - 1."""
        assert 0 <= k < self.entries
        return self.bases[k >> self.spacing] + self.offsets[k]

    @property
    def flash_bytes(self) -> int:
        """Bytes of constant data."""
        return len(self.offsets) + len(self.bases) * stored_bits(FullTable(self.bases)) // 8


def fit_offsets(values: Sequence[int]) -> OffsetTable | None:
    """The offset table of fewest bytes that gives exactly these values, one a code; None where runs of two
    codes are already too steep for a byte."""
    if not values:
        return None
    found: OffsetTable | None = None
    lows, highs = list(values), list(values)
    for spacing in range(1, (len(values) - 1).bit_length() + 1):
        # The bounds of a run from those of its halves; the last run may have one half only.
        lows = [min(lows[at : at + 2]) for at in range(0, len(lows), 2)]
        highs = [max(highs[at : at + 2]) for at in range(0, len(highs), 2)]
        if any(high - low >= _BYTE for low, high in zip(lows, highs, strict=True)):
            break
        offsets = tuple(y - lows[k >> spacing] for k, y in enumerate(values))
        found = OffsetTable(tuple(lows), offsets, spacing)
    return found
