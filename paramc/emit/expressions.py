"""A table as C: the expression that evaluates it, and the constants that it reads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from paramc.emit.constants import Constants, CType, Names, read, stored, unsigned, words
from paramc.emit.evaluators import function_name
from paramc.emit.heights import Height, Heights, heights
from paramc.frozen import dataclass
from paramc.tables.blocks import Blocks
from paramc.tables.costs import DOWN, goes_down
from paramc.tables.even_grid import EvenGrid
from paramc.tables.forms import AnyTable, value_at
from paramc.tables.free_knots import FreeKnots
from paramc.tables.offset_table import OffsetTable
from paramc.tables.segments import FreeSegments
from paramc.tables.table import FullTable, LinearRule

_INT16_MAX, _INT32_MAX = 2**15 - 1, 2**31 - 1


@dataclass(frozen=True, slots=True)
class Evaluation:
    """The value of a table at k, a uint16_t below its entries, as an expression; and what it reads."""

    expression: str
    constants: tuple[Constants, ...]


def evaluation(table: AnyTable, result: CType, names: Names) -> Evaluation:
    """How C evaluates a table whose values fit the result.

    Every step stays inside its type: tests hold the expression, computed as C computes it, against
    tables.forms.value_at.
    """
    match table:
        case LinearRule():
            return Evaluation(_linear(table, result, names.prefix), ())
        case FullTable(values):
            constants = stored(names.whole, f"{names.what}, {names.each}.", values)
            return Evaluation(_as(constants.type, result, read(names.prefix, constants, "k")), (constants,))
        case OffsetTable(bases, offsets, spacing):
            return _offsets(bases, offsets, spacing, result, names)
        case EvenGrid() | Blocks() | FreeSegments() | FreeKnots():
            height = heights(table, result, names)
            return Evaluation(_from_datum(table, height, result, names.prefix), height.constants)
        case other:
            assert_never(other)


def _as(type_: str, result: CType, expression: str) -> str:
    return expression if type_ == result.name else f"({result.name}){expression}"


def _offsets(
    bases: Sequence[int], offsets: Sequence[int], spacing: int, result: CType, names: Names
) -> Evaluation:
    base = stored(names.part("bases"), f"{names.what}: what runs of {1 << spacing} share.", bases)
    offset = words(names.part("offsets"), f"{names.what}: what is added to that, {names.each}.", offsets, 8)
    # The sum is a value and fits the result; so does the base, which is not above it and not below the least.
    first = _as(base.type, result, read(names.prefix, base, f"k >> {spacing}"))
    return Evaluation(f"({result.name})({first} + {read(names.prefix, offset, 'k')})", (base, offset))


def _from_datum(table: Heights, height: Height, result: CType, prefix: str) -> str:
    """What a height stands for; greatest of all is that of the last code, since heights never fall."""
    datum = table.datum
    if height.is_value:
        return height.expression
    top = abs(value_at(table, table.entries - 1) - datum.base)
    text = height.expression
    if goes_down(datum):
        text = f"{prefix}_{function_name(DOWN)}({text}, {unsigned(1 << (8 - datum.shift))})"
    elif datum.shift > 0:
        text = f"({CType(False, datum.width).name})({text} >> {datum.shift})"
    elif datum.shift < 0:
        text = f"((uint{16 if top < 1 << 16 else 32}_t){text} << {-datum.shift})"
        text = f"(uint16_t){text}" if top < 1 << 16 else text
    return _counted(datum.base, datum.falling, text, top, result, prefix)


def _linear(rule: LinearRule, result: CType, prefix: str) -> str:
    most = (rule.entries - 1) * rule.multiplier + rule.offset
    assert most < 2**32
    return _counted(rule.base, rule.falling, _change(rule, most), most >> rule.shift, result, prefix)


def _counted(base: int, falling: bool, change: str, greatest: int, result: CType, prefix: str) -> str:
    """A change, an unsigned number up to the greatest, counted from the base."""
    if base == 0 and not falling:
        return f"({result.name})({change})"
    sign = "-" if falling else "+"
    if not result.signed:
        if not falling and base + greatest >= 2**16:
            change = f"(uint32_t){change}"
        return f"({result.name})({unsigned(base)} {sign} {change})"
    if greatest <= _INT32_MAX:
        return _signed(base, sign, change, greatest, result)
    # A change that no int32_t holds: counted in uint32_t, whose upper half is the negative numbers.
    return f"{prefix}_signed({unsigned(base % 2**32)} {sign} {change})"


def _change(rule: LinearRule, most: int) -> str:
    """(k * multiplier + offset) >> shift in 16 bits where that is enough, else in 32."""
    wide = most >= 2**16 or rule.shift >= 16
    text = "(uint32_t)k" if wide else "k"
    if rule.multiplier != 1:
        text = f"({text} * {unsigned(rule.multiplier)})"
    if rule.offset:
        text = f"({text} + {unsigned(rule.offset)})"
    if rule.shift:
        text = f"({text} >> {rule.shift})"
    return text if wide else f"(uint16_t){text}"


def _signed(base: int, sign: str, change: str, greatest: int, result: CType) -> str:
    last = base - greatest if sign == "-" else base + greatest
    narrow = max(greatest, abs(base), abs(last)) <= _INT16_MAX
    step = "int16_t" if narrow else "int32_t"
    return f"({result.name})({_base(base)} {sign} ({step}){change})"


def _base(base: int) -> str:
    if base == -(2**31):
        return "(-2147483647 - 1)"
    return f"({base})" if base < 0 else str(base)
