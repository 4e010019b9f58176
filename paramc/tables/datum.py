"""What a rule made of straight pieces counts in: heights above a datum, in words of 8, 16 or 32 bits."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.frozen import dataclass
from paramc.tables.tunnel import MOST, MOST_CODES, Tunnel

WORDS = (8, 16, 32)


def check_stored(what: str, values: Iterable[int], width: int) -> None:
    """ValueError where some value is not an unsigned integer of so many bits."""
    for value in values:
        if not 0 <= value < 1 << width:
            raise ValueError(f"{what} {value} does not fit {width} bits without a sign")


def check_size(entries: int, shift: int) -> None:
    """ValueError for a number of codes, or a power of two that divides them, which no table has."""
    if not 1 <= entries <= MOST_CODES or not 0 <= shift <= MOST_CODES.bit_length():
        raise ValueError(f"{entries} codes and a shift of {shift} are in no table")


@dataclass(frozen=True, slots=True)
class Datum:
    """Where a rule's heights, unsigned integers below 2^width, are counted from, and how.

    The value of a height h is base + (h >> shift), base + (h << -shift) where shift is below zero;
    taken away from base where falling. So one evaluator of rising heights serves falling and signed
    curves, and a narrow curve gets binary places that its stored points and slopes round to.
    width: 8, 16 or 32. ValueError where a field is nothing that C could compute with.
    """

    base: int
    falling: bool
    width: int
    shift: int

    def __post_init__(self) -> None:
        if self.width not in WORDS or not -max(WORDS) < self.shift < self.width or abs(self.base) > MOST:
            raise ValueError(f"{self} is no datum")

    def value(self, height: int) -> int:
        """What the C makes of a height."""
        assert 0 <= height < 1 << self.width
        change = height >> self.shift if self.shift >= 0 else height << -self.shift
        return self.base - change if self.falling else self.base + change

    def heights(self, rising: Tunnel) -> Tunnel | None:
        """The heights whose values lie in a tunnel, turned to rise as this datum needs it; None where
        some code has none."""
        sign = -1 if self.falling else 1
        low = [y - sign * self.base for y in rising.low]
        high = [y - sign * self.base for y in rising.high]
        if self.shift >= 0:
            most = (1 << self.shift) - 1
            return Tunnel(
                tuple(y << self.shift for y in low), tuple((y << self.shift) + most for y in high)
            )
        unit = 1 << -self.shift
        least, greatest = [-(-y // unit) for y in low], [y // unit for y in high]
        if any(a > b for a, b in zip(least, greatest, strict=True)):
            return None
        return Tunnel(tuple(least), tuple(greatest))
