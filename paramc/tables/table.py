"""The forms of a table and the one integer evaluation that the C repeats bit for bit."""

from __future__ import annotations

from typing import TypeAlias, assert_never

from paramc.frozen import dataclass

# The C computes a linear rule in uint32_t.
WIDEST = 2**32


@dataclass(frozen=True, slots=True)
class LinearRule:
    """No table: base + ((k * multiplier + offset) >> shift), taken away from base where falling.

    Every intermediate is below 2^32 for k in 0 .. entries - 1.
    """

    entries: int
    base: int
    falling: bool
    multiplier: int
    offset: int
    shift: int


@dataclass(frozen=True, slots=True)
class FullTable:
    """One stored integer for every code."""

    values: tuple[int, ...]

    @property
    def entries(self) -> int:
        """How many codes it answers for."""
        return len(self.values)


Table: TypeAlias = LinearRule | FullTable


def evaluate(table: Table, k: int) -> int:
    """What the C computes for code k, 0 .. entries - 1."""
    match table:
        case LinearRule(entries, base, falling, multiplier, offset, shift):
            assert 0 <= k < entries
            change = (k * multiplier + offset) >> shift
            return base - change if falling else base + change
        case FullTable(values):
            return values[k]
        case other:
            assert_never(other)


def stored_bits(table: FullTable) -> int:
    """The width of the narrowest C integer that holds every entry: 8, 16 or 32."""
    low, high = min(table.values), max(table.values)
    for bits in (8, 16, 32):
        unsigned = low >= 0 and high < 1 << bits
        if unsigned or (-(1 << (bits - 1)) <= low and high < 1 << (bits - 1)):
            return bits
    raise ValueError("an entry needs more than 32 bits")


def flash_bytes(table: Table) -> int:
    """Bytes of constant data; a linear rule has none, its code is counted with the evaluator."""
    match table:
        case LinearRule():
            return 0
        case FullTable(values):
            return len(values) * stored_bits(table) // 8
        case other:
            assert_never(other)
