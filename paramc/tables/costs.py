"""What a table costs on a chip: flash for its data, its call and the routines it needs, and time."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from itertools import product
from typing import Final, NamedTuple, assert_never

from paramc.frozen import dataclass
from paramc.tables.blocks import Blocks
from paramc.tables.datum import Datum
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
    DOWN = "down"
    PLACE = "place"
    MULTIPLY = "multiply to 32 bits"
    DIVIDE = "divide 32 bits"


class Routine(NamedTuple):
    """A part for words of so many bits: of its heights, then of its starts and slopes where it reads such."""

    part: Part
    words: tuple[int, ...]


MULTIPLY: Final = Routine(Part.MULTIPLY, (32,))
DIVIDE: Final = Routine(Part.DIVIDE, (32,))
DOWN: Final = Routine(Part.DOWN, (16,))
PLACE: Final = Routine(Part.PLACE, (16,))
"""Takes off so many of the last places of a word of 16 bits as AVR would shift one by one."""

_ONE_BY_ONE: Final = range(3, 7)


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
        Part.BETWEEN: dict(zip(_WIDTHS, (22, 42, 86), strict=True)),
        Part.GRID: dict.fromkeys(_WIDTHS, 22),
        Part.BLOCKS: dict(zip(_WIDTHS, (36, 38, 42), strict=True)),
        Part.WIDE_BLOCKS: dict(zip(_WIDTHS, (60, 62, 66), strict=True)),
        Part.SEGMENTS: dict(zip(_SEARCHED, (
            178, 184, 198, 202, 202, 216,
            186, 192, 210, 192, 192, 214,
            214, 220, 232, 226, 226, 244,
        ), strict=True)),
        Part.SHORT_SEGMENTS: dict(zip(_SEARCHED, (
            148, 158, 186, 168, 178, 192,
            160, 174, 200, 172, 178, 204,
            182, 182, 208, 190, 202, 206,
        ), strict=True)),
        Part.KNOTS: {(8, 8): 152, (8, 16): 180, (16, 8): 170, (16, 16): 180},
        Part.DOWN: {(16,): 0},
        Part.PLACE: {(16,): 0},
        Part.MULTIPLY: {(32,): 52},
        Part.DIVIDE: {(32,): 68},
    },
    Family.CORTEX_M: {
        Part.BETWEEN: dict(zip(_WIDTHS, (0, 0, 26), strict=True)),
        Part.GRID: dict.fromkeys(_WIDTHS, 30),
        Part.BLOCKS: dict(zip(_WIDTHS, (50, 52, 36), strict=True)),
        Part.WIDE_BLOCKS: dict(zip(_WIDTHS, (52, 54, 40), strict=True)),
        Part.SEGMENTS: dict.fromkeys(_SEARCHED, 80),
        Part.SHORT_SEGMENTS: dict.fromkeys(_SEARCHED, 80),
        Part.KNOTS: {(8, 8): 50, (8, 16): 54, (16, 8): 56, (16, 16): 52},
        Part.DOWN: {(16,): 0},
        Part.PLACE: {(16,): 0},
        Part.MULTIPLY: {(32,): 0},
        Part.DIVIDE: {(32,): 274},
    },
}  # fmt: skip

# Bytes of the function that calls the evaluator and counts from the datum, or has the whole rule in it, where
# nothing is shifted.
_CALLS: Final[dict[Family, dict[Form, int]]] = {
    Family.AVR: {
        Form.LINEAR: 16,
        Form.FULL: 16,
        Form.OFFSETS: 20,
        Form.GRID: 12,
        Form.BLOCKS: 12,
        Form.WIDE_BLOCKS: 14,
        Form.SEGMENTS: 46,
        Form.KNOTS: 16,
    },
    Family.CORTEX_M: {
        Form.LINEAR: 12,
        Form.FULL: 16,
        Form.OFFSETS: 26,
        Form.GRID: 20,
        Form.BLOCKS: 22,
        Form.WIDE_BLOCKS: 24,
        Form.SEGMENTS: 40,
        Form.KNOTS: 24,
    },
}
# Bytes more for a shift, for one by a product, and for a linear rule in 32 bits.
_SHIFT_BYTES: Final = {Family.AVR: 8, Family.CORTEX_M: 2}
_DOWN_BYTES: Final = {Family.AVR: 18, Family.CORTEX_M: 2}
_LONG_BYTES: Final = {Family.AVR: 12, Family.CORTEX_M: 2}

# Cycles in simavr and instructions in qemu, call and return in them, for words of 8, 16 and 32 bits, where
# nothing is shifted or searched; a linear rule of 8 or 16 bits computes in 16.
_CYCLES: Final[dict[Family, dict[Form, tuple[int, int, int]]]] = {
    Family.AVR: {
        Form.LINEAR: (23, 23, 37),
        Form.FULL: (6, 9, 24),
        Form.OFFSETS: (22, 26, 46),
        Form.GRID: (27, 48, 84),
        Form.BLOCKS: (51, 66, 111),
        Form.WIDE_BLOCKS: (76, 82, 136),
        Form.SEGMENTS: (110, 115, 125),
        Form.KNOTS: (711, 726, 726),
    },
    Family.CORTEX_M: {
        Form.LINEAR: (10, 10, 8),
        Form.FULL: (2, 3, 3),
        Form.OFFSETS: (11, 12, 11),
        Form.GRID: (20, 21, 22),
        Form.BLOCKS: (34, 35, 38),
        Form.WIDE_BLOCKS: (36, 37, 40),
        Form.SEGMENTS: (24, 24, 24),
        Form.KNOTS: (120, 120, 120),
    },
}

# What each knot costs that the search passes, coming from the last one down; and each halving of the pieces
# that a search does.
_CYCLES_A_STEP: Final = {Family.AVR: 20, Family.CORTEX_M: 7}
_CYCLES_A_HALVING: Final = {Family.AVR: 25, Family.CORTEX_M: 15}
# What a product costs more in 32 bits.
_CYCLES_LONG: Final = {Family.AVR: 45, Family.CORTEX_M: 0}

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
    form = form_of(table)
    cycles = _CYCLES[family][form][_COLUMN[word_of(table)]] + _more_cycles(table, family)
    call = _CALLS[family][form] + _more_bytes(table, family)
    return Cost(data_bytes(table), call, cycles, frozenset(routines_of(table)))


def _more_bytes(table: AnyTable, family: Family) -> int:
    """What shifts take in the function of a table."""
    shift = _SHIFT_BYTES[family]
    match table:
        case FullTable():
            return 0
        case LinearRule():
            return (_LONG_BYTES[family] if word_of(table) == 32 else 0) + (shift if table.shift else 0)
        case OffsetTable():
            return shift
        case EvenGrid(spacing=size) | Blocks(size=size):
            return (0 if size >= 8 else shift) + _datum_bytes(table.datum, family)
        case FreeSegments() | FreeKnots():
            return _datum_bytes(table.datum, family)
        case other:
            assert_never(other)


def _datum_bytes(datum: Datum, family: Family) -> int:
    if goes_down(datum):
        return _DOWN_BYTES[family]
    return _SHIFT_BYTES[family] if datum.shift else 0


def _more_cycles(table: AnyTable, family: Family) -> int:
    """What shifts and searches take."""
    match table:
        case FullTable():
            return 0
        case LinearRule(multiplier=multiplier, shift=shift):
            long = _CYCLES_LONG[family] if multiplier >= 1 << 16 else 0
            return long + _shifting(word_of(table), shift, family)
        case OffsetTable(spacing=spacing):
            return _shifting(16, spacing, family)
        case EvenGrid(datum=datum, spacing=spacing):
            return _placing(table.entries, spacing, family) + _from_datum(datum, family)
        case Blocks(datum=datum, size=size):
            return (0 if size > 8 else _placing(table.entries, size, family)) + _from_datum(datum, family)
        case FreeSegments(datum=datum):
            return _rounding(table, family) + _from_datum(datum, family)
        case FreeKnots(datum=datum, codes=codes):
            # The mean over all codes.
            return _from_datum(datum, family) + sum(codes[:-1]) * _CYCLES_A_STEP[family] // table.entries
        case other:
            assert_never(other)


def _rounding(table: FreeSegments, family: Family) -> int:
    """What it takes to look for a piece, and to shift its product, by bytes and then one by one."""
    search = (len(table.starts) - 1).bit_length() * _CYCLES_A_HALVING[family]
    if family is Family.CORTEX_M:
        return search
    long = table.product_width > 16
    whole, rest = divmod(table.shift, 8)
    return search + 9 * whole + (7 if long else 5) * rest + (_CYCLES_LONG[family] if long else 0)


def _placing(entries: int, size: int, family: Family) -> int:
    """What it takes to make 256ths of a run of 2^size codes from a code."""
    if family is Family.AVR and place_is_product(entries, size):
        return 5
    return _shifting(16, 8 - size, family)


def _from_datum(datum: Datum, family: Family) -> int:
    """What a height takes to lose its last places."""
    if datum.shift == 0 or family is Family.CORTEX_M:
        return 1 if datum.shift else 0
    return 5 + (10 if goes_down(datum) else _shifting(datum.width, datum.shift, family))


def _shifting(width: int, places: int, family: Family) -> int:
    """What a shift by so many places takes, either way, in words of so many bits: on AVR one place after the
    other where there is no shorter way by whole bytes."""
    whole, rest = divmod(abs(places), 8)
    if family is Family.CORTEX_M:
        return 1 if places else 0
    match width:
        case 8:
            return rest
        case 16 if whole or rest == 7:
            return 2 + rest // 2
        case 16:
            return 2 * rest if rest < 3 else 5 * rest
        case _:
            return 7 * abs(places) if rest else 4 * min(1, whole)


def least_call(form: Form, family: Family) -> tuple[int, int]:
    """Bytes of a form's call, and the fewest cycles that it can take."""
    return _CALLS[family][form], min(_CYCLES[family][form])


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
            parts = _LEAST_PARTS[form_of(table)]
            shared = (*(Routine(part, (table.datum.width,)) for part in parts), *_down(table.datum))
            return (*shared, PLACE) if _is_placed_by_product(table) else shared
        case FreeSegments(product_width=16):
            return (Routine(Part.SHORT_SEGMENTS, _segment_words(table)), *_down(table.datum))
        case FreeSegments():
            return (Routine(Part.SEGMENTS, _segment_words(table)), MULTIPLY, *_down(table.datum))
        case FreeKnots():
            words = table.datum.width, start_width(table.entries)
            return (Routine(Part.KNOTS, words), MULTIPLY, DIVIDE, *_down(table.datum))
        case other:
            assert_never(other)


def place_is_product(entries: int, size: int) -> bool:
    """Whether a code, of one byte, is shifted up by a product, which on AVR is less than to shift it."""
    return entries <= 256 and 8 - size in _ONE_BY_ONE


def _is_placed_by_product(table: EvenGrid | Blocks) -> bool:
    """Whether a grid needs the product; blocks have it in any case."""
    return (
        isinstance(table, EvenGrid) and table.spacing != 8 and place_is_product(table.entries, table.spacing)
    )


def goes_down(datum: Datum) -> bool:
    """Whether heights lose their last places by a product, which on AVR is less than to shift them."""
    return datum.width == 16 and datum.shift in _ONE_BY_ONE


def _down(datum: Datum) -> tuple[Routine, ...]:
    return (DOWN,) if goes_down(datum) else ()


def _segment_words(table: FreeSegments) -> tuple[int, int, int]:
    return table.datum.width, start_width(table.entries), table.slope_width
