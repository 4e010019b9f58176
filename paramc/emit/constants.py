"""What C stores and how it says numbers: types, literals, and constants in flash."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.emit.escape import WIDTH
from paramc.frozen import dataclass
from paramc.tables.table import FullTable, stored_bits


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
class Names:
    """What the constants of one table are called: of a full table, or in pieces by what they are.

    prefix: the product's. stem: "values" or "codes". of: the item, or the knob's function. what: the table in
    a comment, "Engine values of Time". each: "one a code".
    """

    prefix: str
    stem: str
    of: str
    what: str
    each: str

    @property
    def whole(self) -> str:
        return f"{self.prefix}_{self.stem}_{self.of}"

    def part(self, what: str) -> str:
        # No item's whole table is called so, for its name begins with the plural.
        return f"{self.prefix}_{self.stem.removesuffix('s')}_{what}_{self.of}"


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


def stored(name: str, comment: str, values: Sequence[int]) -> Constants:
    """Numbers in the narrowest type that holds them all."""
    signed = min(values) < 0
    kind = CType(signed, stored_bits(FullTable(tuple(values))))
    lines = _signed_numbers(values) if signed else numbers(values, "u")
    return Constants(name, comment, kind.name, f"{len(values)}u * sizeof({kind.name})", lines)


def words(name: str, comment: str, values: Sequence[int], bits: int) -> Constants:
    """Numbers without a sign in words of so many bits."""
    kind = CType(False, bits)
    return Constants(name, comment, kind.name, f"{len(values)}u * sizeof({kind.name})", numbers(values, "u"))


def reader(type_: str) -> str:
    """What a type is called in the macros that read flash: "U16" for uint16_t."""
    return f"{'U' if type_.startswith('u') else 'S'}{''.join(filter(str.isdigit, type_))}"


def read(prefix: str, constants: Constants, index: str) -> str:
    """One number of a table in flash."""
    return f"{prefix.upper()}_FLASH_{reader(constants.type)}(&{constants.name}[{index}])"


def _signed_numbers(values: Sequence[int]) -> tuple[str, ...]:
    # The least integer of 32 bits has no literal: C reads a minus and a number that does not fit.
    lines = numbers(values)
    return tuple(line.replace("-2147483648,", "(-2147483647 - 1),") for line in lines)
