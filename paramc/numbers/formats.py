"""The integers in which the firmware takes its numbers: whole, fractional, signed or not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from paramc.frozen import dataclass
from paramc.numbers.real import Real, compare, multiply

WORDS: Final = (8, 16, 32)
"""Bits that a stored integer may have."""

_INTEGER: Final = re.compile(r"([us])(8|16|32)")
_FRACTIONAL: Final = re.compile(r"(u?)q(0|[1-9][0-9]?)\.(0|[1-9][0-9]?)")
_SHORT: Final = re.compile(r"q(7|15|31)")


@dataclass(frozen=True, slots=True)
class Format:
    """A stored integer of 8, 16 or 32 bits that stands for itself divided by 2^fraction_bits.

    Signed is two's complement, and the sign is one of the bits in front of the point: q1.15 is -1 to
    32767/32768. (One maker's habit; another does not count the sign and calls the same number Q0.15.)
    """

    name: str
    signed: bool
    bits: int
    fraction_bits: int

    @property
    def minimum(self) -> int:
        return -(1 << (self.bits - 1)) if self.signed else 0

    @property
    def maximum(self) -> int:
        return (1 << (self.bits - 1 if self.signed else self.bits)) - 1

    @property
    def scale(self) -> int:
        """What a number is multiplied by before it is rounded to the stored integer."""
        return 1 << self.fraction_bits

    @property
    def c_type(self) -> str:
        """The type of C99's stdint.h, for example "int16_t"."""
        return f"{'' if self.signed else 'u'}int{self.bits}_t"

    @property
    def integer(self) -> bool:
        """Whether the stored integer is the converted number itself."""
        return self.fraction_bits == 0

    def holds(self, stored: int) -> bool:
        return self.minimum <= stored <= self.maximum

    def holds_rounded(self, number: Real) -> bool:
        """Whether the number, scaled and rounded to the nearest integer with a tie to the even one, fits.

        It is compared, not computed, so that a number of any size may be asked about. The maximum is odd: a
        tie above it goes out. The minimum is even: a tie below it comes back.
        """
        scaled = multiply(number, Fraction(self.scale))
        half = Fraction(1, 2)
        return compare(scaled, self.maximum + half) < 0 and compare(scaled, self.minimum - half) >= 0


def parse(text: str) -> Format | None:
    """The format of that name: u8 u16 u32 s8 s16 s32, uqM.N, qM.N with M at least 1, q7 q15 q31.

    M + N is 8, 16 or 32. None where there is no such format.
    """
    if match := _INTEGER.fullmatch(text):
        return Format(text, match[1] == "s", int(match[2]), 0)
    if match := _SHORT.fullmatch(text):
        return Format(text, True, int(match[1]) + 1, int(match[1]))
    if match := _FRACTIONAL.fullmatch(text):
        signed, whole, fraction = not match[1], int(match[2]), int(match[3])
        if whole + fraction in WORDS and (whole or not signed):
            return Format(text, signed, whole + fraction, fraction)
    return None


def formats_that_hold(lowest: Real, highest: Real, like: Format) -> Iterator[Format]:
    """The formats of the same kind whose correctly rounded integers hold both numbers, nearest first.

    Nearest to `like` is its word size before a larger one, then as many bits behind the point as may be, up
    to its own, then its sign. A fractional format keeps at least one bit behind the point.
    """
    for candidate in _candidates(like):
        if candidate.holds_rounded(lowest) and candidate.holds_rounded(highest):
            yield candidate


def format_that_holds(lowest: Real, highest: Real, like: Format) -> Format | None:
    """The first of formats_that_hold: uq1.15 for 0 to 1 like q15, q2.14 for -1 to 1; None where none does."""
    return next(formats_that_hold(lowest, highest, like), None)


def _candidates(like: Format) -> Iterator[Format]:
    for bits in WORDS:
        if bits < like.bits:
            continue
        for fraction_bits in range(min(like.fraction_bits, bits), 0 if like.fraction_bits else -1, -1):
            for signed in (like.signed, not like.signed):
                if fraction_bits < bits or not signed:
                    yield Format(_name(signed, bits, fraction_bits), signed, bits, fraction_bits)


def _name(signed: bool, bits: int, fraction_bits: int) -> str:
    if fraction_bits == 0:
        return f"{'s' if signed else 'u'}{bits}"
    if signed and fraction_bits == bits - 1:
        return f"q{fraction_bits}"
    return f"{'' if signed else 'u'}q{bits - fraction_bits}.{fraction_bits}"
