"""All forms of a table as one: what each is called, how it is evaluated, and what it stores."""

from __future__ import annotations

from enum import Enum
from typing import TypeAlias, assert_never

from paramc.tables.blocks import Blocks
from paramc.tables.even_grid import EvenGrid
from paramc.tables.free_knots import FreeKnots
from paramc.tables.offset_table import OffsetTable
from paramc.tables.segments import FreeSegments
from paramc.tables.table import FullTable, LinearRule, evaluate, flash_bytes

AnyTable: TypeAlias = LinearRule | FullTable | OffsetTable | EvenGrid | Blocks | FreeSegments | FreeKnots


class Form(Enum):
    """The forms by the names that a report calls them."""

    LINEAR = "linear rule"
    FULL = "full table"
    OFFSETS = "byte offsets"
    GRID = "even grid"
    BLOCKS = "blocks"
    WIDE_BLOCKS = "wide blocks"
    SEGMENTS = "free segments"
    KNOTS = "free knots"


def form_of(table: AnyTable) -> Form:
    """Which form a table has."""
    match table:
        case LinearRule():
            return Form.LINEAR
        case FullTable():
            return Form.FULL
        case OffsetTable():
            return Form.OFFSETS
        case EvenGrid():
            return Form.GRID
        case Blocks(size=size):
            return Form.WIDE_BLOCKS if size > 8 else Form.BLOCKS
        case FreeSegments():
            return Form.SEGMENTS
        case FreeKnots():
            return Form.KNOTS
        case other:
            assert_never(other)


def value_at(table: AnyTable, k: int) -> int:
    """What the C computes for code k, 0 .. entries - 1."""
    match table:
        case LinearRule() | FullTable():
            return evaluate(table, k)
        case OffsetTable() | EvenGrid() | Blocks() | FreeSegments() | FreeKnots():
            return table.value(k)
        case other:
            assert_never(other)


def values_of(table: AnyTable) -> tuple[int, ...]:
    """What the C computes for every code."""
    return tuple(value_at(table, k) for k in range(table.entries))


def data_bytes(table: AnyTable) -> int:
    """Bytes of constant data."""
    match table:
        case LinearRule() | FullTable():
            return flash_bytes(table)
        case OffsetTable() | EvenGrid() | Blocks() | FreeSegments() | FreeKnots():
            return table.flash_bytes
        case other:
            assert_never(other)


def stored_in(table: AnyTable) -> tuple[int, str]:
    """How many of what a table stores, "22 knots"; a linear rule stores nothing."""
    match table:
        case LinearRule():
            return 0, "values"
        case FullTable() | OffsetTable():
            return table.entries, "values"
        case EvenGrid(knots=knots) | Blocks(knots=knots) | FreeKnots(heights=knots):
            return len(knots), "knots"
        case FreeSegments(starts=starts):
            return len(starts), "pieces"
        case other:
            assert_never(other)
