"""A table as C: the expression that evaluates it, and the constants that it reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import assert_never

from paramc.emit.escape import WIDTH
from paramc.tables.table import FullTable, LinearRule, Table, stored_bits

_INT16_MAX, _INT32_MAX = 2**15 - 1, 2**31 - 1


@dataclass(frozen=True, slots=True)
class CType:
    """An integer of stdint.h."""

    signed: bool
    bits: int

    @property
    def name(self) -> str:
        return f"{'' if self.signed else 'u'}int{self.bits}_t"


@dataclass(frozen=True, slots=True)
class Constants:
    """A table in flash. comment: what it holds. lines: its numbers, ready to print."""

    name: str
    comment: str
    type: str
    bytes: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Evaluation:
    """The value of a table at k, a uint16_t below its entries, as an expression; and what it reads."""

    expression: str
    constants: tuple[Constants, ...]


def code_type(codes: int) -> str:
    """The narrowest type for codes 0 to codes - 1, at most 2^16 of them."""
    return "uint8_t" if codes <= 2**8 else "uint16_t"


def unsigned(value: int) -> str:
    """A decimal literal that is unsigned on every chip."""
    assert 0 <= value < 2**32
    return f"{int(value)}u"


def hexadecimal(value: int, bits: int) -> str:
    """An unsigned literal with all digits of its width."""
    assert 0 <= value < 1 << bits
    return f"0x{value:0{bits // 4}X}u"


def numbers(values: Sequence[int], suffix: str = "") -> tuple[str, ...]:
    """Numbers with commas behind them, as many in a line as fit."""
    lines: list[str] = []
    line = ""
    for value in values:
        word = f"{value}{suffix},"
        if line and len(line) + 1 + len(word) > WIDTH:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}" if line else word
    return (*lines, line)


def evaluation(table: Table, result: CType, prefix: str, name: str, comment: str) -> Evaluation:
    """How C evaluates a table whose values fit the result.

    Every step stays inside its type: tests hold the expression, computed as C computes it, against
    tables.evaluate.
    """
    match table:
        case LinearRule():
            return Evaluation(_linear(table, result, prefix), ())
        case FullTable(values):
            signed = min(values) < 0
            stored = CType(signed, stored_bits(table))
            constants = Constants(
                name, comment, stored.name, f"{len(values)}u * sizeof({stored.name})",
                _signed_numbers(values) if signed else numbers(values, "u"),
            )  # fmt: skip
            read = f"{prefix.upper()}_FLASH_{'S' if signed else 'U'}{stored.bits}(&{name}[k])"
            return Evaluation(read if stored == result else f"({result.name}){read}", (constants,))
        case other:
            assert_never(other)


def _signed_numbers(values: Sequence[int]) -> tuple[str, ...]:
    # The least integer of 32 bits has no literal: C reads a minus and a number that does not fit.
    lines = numbers(values)
    return tuple(line.replace("-2147483648,", "(-2147483647 - 1),") for line in lines)


def _linear(rule: LinearRule, result: CType, prefix: str) -> str:
    most = (rule.entries - 1) * rule.multiplier + rule.offset
    assert most < 2**32
    change = _change(rule, most)
    greatest = most >> rule.shift
    if rule.base == 0 and not rule.falling:
        return f"({result.name})({change})"
    if not result.signed:
        sign = "-" if rule.falling else "+"
        if not rule.falling and rule.base + greatest >= 2**16:
            change = f"(uint32_t){change}"
        return f"({result.name})({unsigned(rule.base)} {sign} {change})"
    if greatest <= _INT32_MAX:
        return _signed(rule, change, greatest, result)
    return _around(rule, change, prefix)


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


def _signed(rule: LinearRule, change: str, greatest: int, result: CType) -> str:
    narrow = greatest <= _INT16_MAX and all(
        abs(value) <= _INT16_MAX
        for value in (rule.base, rule.base - greatest if rule.falling else rule.base + greatest)
    )
    step = "int16_t" if narrow else "int32_t"
    sign = "-" if rule.falling else "+"
    return f"({result.name})({_base(rule.base)} {sign} ({step}){change})"


def _around(rule: LinearRule, change: str, prefix: str) -> str:
    """A change that no int32_t holds: counted in uint32_t, whose upper half is the negative numbers."""
    return f"{prefix}_signed({unsigned(rule.base % 2**32)} {'-' if rule.falling else '+'} {change})"


def _base(base: int) -> str:
    if base == -(2**31):
        return "(-2147483647 - 1)"
    return f"({base})" if base < 0 else str(base)
