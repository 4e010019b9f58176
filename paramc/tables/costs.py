"""What a table costs on a chip: flash for its data, its call and the routines it needs, and time."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from itertools import product
from typing import Final, NamedTuple, assert_never

from paramc.frozen import dataclass
from paramc.tables.blocks import Blocks
from paramc.tables.even_grid import EvenGrid
from paramc.tables.forms import AnyTable, Form, data_bytes, form_of
from paramc.tables.free_knots import FreeKnots
from paramc.tables.offset_table import OffsetTable
from paramc.tables.segments import FreeSegments, start_width
from paramc.tables.table import FullTable, LinearRule, stored_bits


class Family(Enum):
    """Processors that differ in what arithmetic costs."""

    AVR = "AVR"
    CORTEX_M = "Cortex-M"


class Part(Enum):
    """A function that all tables share that need it."""

    BETWEEN = "between"
    GRID = "grid"
    BLOCKS = "blocks"
    WIDE_BLOCKS = "wide blocks"
    SEGMENTS = "segments"
    SHORT_SEGMENTS = "short segments"
    KNOTS = "knots"
    MULTIPLY = "multiply to 32 bits"
    DIVIDE = "divide 32 bits"


class Routine(NamedTuple):
    """A part for words of so many bits: of its heights, then of its starts and slopes where it reads such."""

    part: Part
    words: tuple[int, ...]


MULTIPLY: Final = Routine(Part.MULTIPLY, (32,))
DIVIDE: Final = Routine(Part.DIVIDE, (32,))


@dataclass(frozen=True, slots=True)
class Cost:
    """data, call: bytes that this table alone needs. cycles: mean time of one evaluation, in processor
    cycles on AVR, in instructions on Cortex-M."""

    data: int
    call: int
    cycles: int
    routines: frozenset[Routine] = frozenset()


_Figures = dict[Part, dict[tuple[int, ...], int]]

_WIDTHS: Final = ((8,), (16,), (32,))
_SEARCHED: Final = tuple(product((8, 16, 32), (8, 16), (8, 16, 32)))

# What tests/measure/target figures prints, -Os by avr-gcc 5.4.0 for ATmega328P and by arm-none-eabi-gcc
# 12.2.1 for Cortex-M0. A routine of no bytes is one that the compiler makes a part of each of its calls, and
# is counted there.
_BYTES: Final[dict[Family, _Figures]] = {
    Family.AVR: {
        Part.BETWEEN: dict(zip(_WIDTHS, (24, 56, 126), strict=True)),
        Part.GRID: dict.fromkeys(_WIDTHS, 0),
        Part.BLOCKS: dict(zip(_WIDTHS, (42, 44, 48), strict=True)),
        Part.WIDE_BLOCKS: dict(zip(_WIDTHS, (50, 50, 56), strict=True)),
        Part.SEGMENTS: dict(zip(_SEARCHED, (
            112, 120, 140, 128, 146, 150,
            124, 132, 148, 152, 136, 172,
            136, 146, 150, 146, 164, 160,
        ), strict=True)),
        Part.SHORT_SEGMENTS: dict(zip(_SEARCHED, (
            100, 112, 134, 110, 134, 144,
            108, 118, 142, 132, 124, 158,
            124, 138, 150, 132, 158, 160,
        ), strict=True)),
        Part.KNOTS: {(8, 8): 132, (8, 16): 148, (16, 8): 148, (16, 16): 154},
        Part.MULTIPLY: {(32,): 52},
        Part.DIVIDE: {(32,): 68},
    },
    Family.CORTEX_M: {
        Part.BETWEEN: dict(zip(_WIDTHS, (24, 42, 24), strict=True)),
        Part.GRID: dict.fromkeys(_WIDTHS, 0),
        Part.BLOCKS: dict.fromkeys(_WIDTHS, 40),
        Part.WIDE_BLOCKS: dict.fromkeys(_WIDTHS, 52),
        Part.SEGMENTS: dict.fromkeys(_SEARCHED, 0),
        Part.SHORT_SEGMENTS: dict.fromkeys(_SEARCHED, 0),
        Part.KNOTS: {(8, 8): 50, (8, 16): 54, (16, 8): 56, (16, 16): 52},
        Part.MULTIPLY: {(32,): 0},
        Part.DIVIDE: {(32,): 274},
    },
}  # fmt: skip

# Bytes of the function that calls the evaluator and counts from the datum, or has the whole rule in it.
_CALLS: Final[dict[Family, dict[Form, int]]] = {
    Family.AVR: {
        Form.LINEAR: 34,
        Form.FULL: 16,
        Form.OFFSETS: 28,
        Form.GRID: 28,
        Form.BLOCKS: 22,
        Form.WIDE_BLOCKS: 30,
        Form.SEGMENTS: 38,
        Form.KNOTS: 16,
    },
    Family.CORTEX_M: {
        Form.LINEAR: 18,
        Form.FULL: 16,
        Form.OFFSETS: 24,
        Form.GRID: 28,
        Form.BLOCKS: 24,
        Form.WIDE_BLOCKS: 28,
        Form.SEGMENTS: 58,
        Form.KNOTS: 24,
    },
}

# Cycles in simavr and instructions in qemu, call and return in them, the search for a piece left out, for
# words of 8, 16 and 32 bits; a linear rule of 8 or 16 bits computes in 16.
_CYCLES: Final[dict[Family, dict[Form, tuple[int, int, int]]]] = {
    Family.AVR: {
        Form.LINEAR: (28, 38, 110),
        Form.FULL: (6, 9, 24),
        Form.OFFSETS: (23, 26, 48),
        Form.GRID: (58, 80, 183),
        Form.BLOCKS: (66, 88, 192),
        Form.WIDE_BLOCKS: (87, 107, 212),
        Form.SEGMENTS: (265, 262, 278),
        Form.KNOTS: (705, 715, 715),
    },
    Family.CORTEX_M: {
        Form.LINEAR: (9, 11, 10),
        Form.FULL: (2, 5, 5),
        Form.OFFSETS: (11, 13, 12),
        Form.GRID: (22, 34, 25),
        Form.BLOCKS: (36, 50, 41),
        Form.WIDE_BLOCKS: (46, 57, 48),
        Form.SEGMENTS: (25, 24, 25),
        Form.KNOTS: (120, 120, 120),
    },
}

# What each piece costs that the search for the right one passes; it comes from the last piece down.
_CYCLES_A_STEP: Final = {Family.AVR: 18, Family.CORTEX_M: 5}
# What short products save.
_CYCLES_SAVED: Final = {Family.AVR: 125, Family.CORTEX_M: 0}

LARGEST_TABLE: Final = {Family.AVR: 32767, Family.CORTEX_M: 1 << 20}
"""Bytes of the largest array that the compilers of a family take."""

_COLUMN: Final = {8: 0, 16: 1, 32: 2}

# What a form needs at least; free segments with long products need more.
_LEAST_PARTS: Final[dict[Form, tuple[Part, ...]]] = {
    Form.GRID: (Part.BETWEEN, Part.GRID),
    Form.BLOCKS: (Part.BETWEEN, Part.BLOCKS),
    Form.WIDE_BLOCKS: (Part.BETWEEN, Part.WIDE_BLOCKS),
    Form.SEGMENTS: (Part.SHORT_SEGMENTS,),
    Form.KNOTS: (Part.KNOTS, Part.MULTIPLY, Part.DIVIDE),
}


def routine_bytes(family: Family, routines: Iterable[Routine]) -> int:
    """Flash that these shared functions take, each once."""
    return sum(_BYTES[family][routine.part][routine.words] for routine in frozenset(routines))


def least_evaluators(forms: Iterable[Form], family: Family, paid: frozenset[Routine]) -> int:
    """The least flash that the shared functions of all these forms take, of whatever words."""
    figures, here = _BYTES[family], {routine.part for routine in paid}
    total = 0
    for part in {part for form in forms for part in _LEAST_PARTS.get(form, ())} - here:
        if part is not Part.SHORT_SEGMENTS:
            total += min(figures[part].values())
        elif Part.SEGMENTS not in here:
            total += min(*figures[part].values(), *figures[Part.SEGMENTS].values())
    return total


def cost_of(table: AnyTable, family: Family) -> Cost:
    """What a table costs on processors of a family."""
    form, width = form_of(table), word_of(table)
    cycles = _CYCLES[family][form][_COLUMN[width]]
    if isinstance(table, FreeSegments | FreeKnots):
        # The mean over all codes of how many pieces the search passes.
        cycles += _steps(table) * _CYCLES_A_STEP[family] // table.entries
        if isinstance(table, FreeSegments) and table.product_width == 16:
            cycles -= _CYCLES_SAVED[family]
    return Cost(data_bytes(table), _CALLS[family][form], cycles, frozenset(routines_of(table)))


def least_call(form: Form, family: Family) -> tuple[int, int]:
    """Bytes of a form's call, and the fewest cycles that it can take."""
    cycles = min(_CYCLES[family][form]) - (_CYCLES_SAVED[family] if form is Form.SEGMENTS else 0)
    return _CALLS[family][form], cycles


def word_of(table: AnyTable) -> int:
    """Bits of the words that a table is computed in, or of the stored ones where it is only read."""
    match table:
        case LinearRule(entries, _, _, multiplier, offset, shift):
            return 16 if (entries - 1) * multiplier + offset < 1 << 16 and shift < 16 else 32
        case FullTable():
            return stored_bits(table)
        case OffsetTable(bases):
            return stored_bits(FullTable(bases))
        case EvenGrid() | Blocks() | FreeSegments() | FreeKnots():
            return table.datum.width
        case other:
            assert_never(other)


def routines_of(table: AnyTable) -> tuple[Routine, ...]:
    """The shared functions that evaluate a table."""
    match table:
        case LinearRule():
            return () if word_of(table) == 16 else (MULTIPLY,)
        case FullTable() | OffsetTable():
            return ()
        case EvenGrid() | Blocks():
            return tuple(Routine(part, (table.datum.width,)) for part in _LEAST_PARTS[form_of(table)])
        case FreeSegments(product_width=16):
            return (Routine(Part.SHORT_SEGMENTS, _segment_words(table)),)
        case FreeSegments():
            return Routine(Part.SEGMENTS, _segment_words(table)), MULTIPLY
        case FreeKnots():
            words = table.datum.width, start_width(table.entries)
            return Routine(Part.KNOTS, words), MULTIPLY, DIVIDE
        case other:
            assert_never(other)


def _segment_words(table: FreeSegments) -> tuple[int, int, int]:
    return table.datum.width, start_width(table.entries), table.slope_width


def _steps(table: FreeSegments | FreeKnots) -> int:
    """How many pieces the search passes for all codes together."""
    starts = table.starts if isinstance(table, FreeSegments) else table.codes[:-1]
    return sum(starts)
