"""What a table costs on a chip: flash for its data, its call and the routines it needs, and time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Final, NamedTuple, assert_never

from paramc.tables.blocks import Blocks
from paramc.tables.even_grid import EvenGrid
from paramc.tables.forms import AnyTable, Form, data_bytes, form_of
from paramc.tables.free_knots import FreeKnots
from paramc.tables.offset_table import OffsetTable
from paramc.tables.segments import FreeSegments
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
    SHORT_SEGMENTS = "segments with short products"
    KNOTS = "knots"
    MULTIPLY = "multiply to 32 bits"
    DIVIDE = "divide 32 bits"


class Routine(NamedTuple):
    """A part for words of 8, 16 or 32 bits."""

    part: Part
    width: int


@dataclass(frozen=True, slots=True)
class Cost:
    """data, call: bytes that this table alone needs. cycles: mean time of one evaluation, in processor
    cycles on AVR, in instructions on Cortex-M."""

    data: int
    call: int
    cycles: int
    routines: frozenset[Routine] = frozenset()


_Figures = dict[Part, tuple[int, int, int]]

# Measured with the evaluators that the forms' own pages describe, compiled with -Os by avr-gcc 5.4.0 for
# ATmega328P and by arm-none-eabi-gcc 12.2.1 for Cortex-M0, for words of 8, 16 and 32 bits. Bytes are what nm
# says of each function, with the multiplication and division of libgcc that they call.
_BYTES: Final[dict[Family, _Figures]] = {
    Family.AVR: {
        Part.BETWEEN: (24, 66, 126),
        Part.GRID: (12, 16, 20),
        Part.BLOCKS: (38, 36, 44),
        Part.WIDE_BLOCKS: (110, 102, 116),
        Part.SEGMENTS: (130, 146, 158),
        Part.SHORT_SEGMENTS: (90, 104, 140),
        Part.KNOTS: (96, 112, 176),
        Part.MULTIPLY: (52, 52, 52),
        Part.DIVIDE: (68, 68, 68),
    },
    Family.CORTEX_M: {
        Part.BETWEEN: (24, 34, 24),
        Part.GRID: (16, 18, 18),
        Part.BLOCKS: (36, 38, 38),
        Part.WIDE_BLOCKS: (50, 52, 52),
        Part.SEGMENTS: (40, 40, 38),
        Part.SHORT_SEGMENTS: (40, 40, 40),
        Part.KNOTS: (48, 48, 44),
        Part.MULTIPLY: (0, 0, 0),
        Part.DIVIDE: (274, 274, 274),
    },
}

# Bytes of the function that calls the evaluator and counts from the datum, or has the whole rule in it.
_CALLS: Final[dict[Family, dict[Form, int]]] = {
    Family.AVR: {
        Form.LINEAR: 34,
        Form.FULL: 16,
        Form.OFFSETS: 40,
        Form.GRID: 26,
        Form.BLOCKS: 20,
        Form.WIDE_BLOCKS: 22,
        Form.SEGMENTS: 18,
        Form.KNOTS: 16,
    },
    Family.CORTEX_M: {
        Form.LINEAR: 20,
        Form.FULL: 12,
        Form.OFFSETS: 28,
        Form.GRID: 24,
        Form.BLOCKS: 32,
        Form.WIDE_BLOCKS: 36,
        Form.SEGMENTS: 28,
        Form.KNOTS: 28,
    },
}

# AVR: in simavr, the search for a piece left out, for words of 8, 16 and 32 bits; a linear rule of 8 or 16
# bits computes in 16. Cortex-M: instructions counted in the code.
_CYCLES: Final[dict[Family, dict[Form, tuple[int, int, int]]]] = {
    Family.AVR: {
        Form.LINEAR: (28, 28, 41),
        Form.FULL: (7, 11, 18),
        Form.OFFSETS: (18, 22, 30),
        Form.GRID: (52, 83, 177),
        Form.BLOCKS: (58, 86, 183),
        Form.WIDE_BLOCKS: (211, 232, 336),
        Form.SEGMENTS: (233, 247, 277),
        Form.KNOTS: (677, 693, 773),
    },
    Family.CORTEX_M: {
        Form.LINEAR: (5, 5, 6),
        Form.FULL: (3, 3, 3),
        Form.OFFSETS: (7, 7, 7),
        Form.GRID: (22, 27, 23),
        Form.BLOCKS: (31, 36, 32),
        Form.WIDE_BLOCKS: (40, 45, 41),
        Form.SEGMENTS: (26, 26, 26),
        Form.KNOTS: (139, 139, 139),
    },
}

# What each piece costs that the search for the right one passes; it comes from the last piece down.
_CYCLES_A_STEP: Final = {Family.AVR: 14, Family.CORTEX_M: 3}
# What short products save.
_CYCLES_SAVED: Final = {Family.AVR: 120, Family.CORTEX_M: 0}

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
    return sum(_BYTES[family][routine.part][_COLUMN[routine.width]] for routine in frozenset(routines))


def least_evaluators(forms: Iterable[Form], family: Family, paid: frozenset[Routine]) -> int:
    """The least flash that the shared functions of all these forms take, of whatever width."""
    figures, here = _BYTES[family], {routine.part for routine in paid}
    total = 0
    for part in {part for form in forms for part in _LEAST_PARTS.get(form, ())} - here:
        if part is not Part.SHORT_SEGMENTS:
            total += min(figures[part])
        elif Part.SEGMENTS not in here:
            total += min(*figures[part], *figures[Part.SEGMENTS])
    return total


def cost_of(table: AnyTable, family: Family) -> Cost:
    """What a table costs on processors of a family."""
    form = form_of(table)
    width, parts = _needs(table)
    cycles = _CYCLES[family][form][_COLUMN[width]]
    if isinstance(table, FreeSegments | FreeKnots):
        # The mean over all codes of how many pieces the search passes.
        cycles += _steps(table) * _CYCLES_A_STEP[family] // table.entries
        if Part.SHORT_SEGMENTS in parts:
            cycles -= _CYCLES_SAVED[family]
    routines = frozenset(
        Routine(part, 32 if part in (Part.MULTIPLY, Part.DIVIDE) else width) for part in parts
    )
    return Cost(data_bytes(table), _CALLS[family][form], cycles, routines)


def least_call(form: Form, family: Family) -> tuple[int, int]:
    """Bytes of a form's call, and the fewest cycles that it can take."""
    cycles = min(_CYCLES[family][form]) - (_CYCLES_SAVED[family] if form is Form.SEGMENTS else 0)
    return _CALLS[family][form], cycles


def _needs(table: AnyTable) -> tuple[int, tuple[Part, ...]]:
    """The width of a table's words, and the parts that evaluate it."""
    match table:
        case LinearRule(entries, _, _, multiplier, offset, shift):
            short = (entries - 1) * multiplier + offset < 1 << 16 and shift < 16
            return (16, ()) if short else (32, (Part.MULTIPLY,))
        case FullTable():
            return stored_bits(table), ()
        case OffsetTable(bases):
            return stored_bits(FullTable(bases)), ()
        case FreeSegments(product_width=16):
            return table.datum.width, (Part.SHORT_SEGMENTS,)
        case FreeSegments():
            return table.datum.width, (Part.SEGMENTS, Part.MULTIPLY)
        case EvenGrid() | Blocks() | FreeKnots():
            return table.datum.width, _LEAST_PARTS[form_of(table)]
        case other:
            assert_never(other)


def _steps(table: FreeSegments | FreeKnots) -> int:
    """How many pieces the search passes for all codes together."""
    starts = table.starts if isinstance(table, FreeSegments) else table.codes[:-1]
    return sum(starts)
