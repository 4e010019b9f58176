"""A number with its unit, exact from the literal on, and the one way in which numbers are printed."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from paramc.frozen import dataclass
from paramc.numbers.units import RATIO_TO_ONE, SPELLINGS, Dimension, Unit

_BLANKS: Final = "[ \\t\u00a0\u2007\u2009\u202f]*"
# Not compiled here, since most commands read no quantity but through the parser.
_LITERAL: Final = (
    rf"(?:(?P<sign>[-+\u2212]){_BLANKS})?"
    r"(?P<number>(?:0|[1-9][0-9]*|[1-9][0-9]{0,2}(?:_[0-9]{3})+)(?:\.[0-9]+)?)"
    rf"(?P<unit>:1|{_BLANKS}(?:%|[^\W\d_]+)|)"
)
_DECIMAL: Final = r"[-\u2212]?(?:0|[1-9][0-9]*(?:_[0-9]+)*)(?:\.[0-9]+)?"

LONGEST_NUMBER: Final = 40
"""Characters of a number in a quantity: longer ones cannot be meant, and keep exact arithmetic cheap."""

ABOUT_DIGITS: Final = 6
"""Least significant digits of a number that has no exact decimal."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in the unit in which it was written. Equal means written alike: 1 s is not 1000 ms."""

    number: Fraction
    unit: Unit

    @property
    def base(self) -> Fraction:
        """The number in the base unit of the dimension, which is what quantities are compared by."""
        return self.number * self.unit.factor

    @property
    def dimension(self) -> Dimension:
        return self.unit.dimension

    def to(self, unit: Unit) -> Quantity:
        """The same quantity in another unit; ValueError where the dimensions differ."""
        if unit.dimension is not self.dimension:
            raise ValueError(f"{self.dimension.value} does not convert to {unit.dimension.value}")
        return Quantity(self.base / unit.factor, unit)

    def __str__(self) -> str:
        """As a person writes it: "350 ms", "4:1", "2.5 x", "1 tap", "3"; see decimal_text for the number."""
        text = decimal_text(self.number)
        if self.unit == RATIO_TO_ONE:
            return text + self.unit.symbol
        symbol = self.unit.singular if abs(self.number) == 1 else self.unit.symbol
        return f"{text} {symbol}" if symbol else text


def decimal_text(value: Fraction, places: int | None = None) -> str:
    """A number as a decimal without exponent and without trailing zeros.

    With `places` it is rounded to so many digits behind the point, a tie to the even digit. Without, it is
    exact; a number that no decimal meets (one third) has at least ABOUT_DIGITS significant digits and a
    leading "about ".
    """
    if places is not None:
        return _rounded(value, places)
    exact = _exact_places(value.denominator)
    if exact is not None:
        return _rounded(value, exact)
    return "about " + _rounded(value, _about_places(abs(value)))


def parse_decimal(text: str) -> Fraction:
    """The number that a checked literal means: digits, `_` between digits, a point, a leading minus.

    ValueError for anything else (an exponent, a leading zero, a point without digits on both sides).
    """
    if re.fullmatch(_DECIMAL, text) is None:
        raise ValueError(f"{text!r} is not a decimal number")
    return Fraction(text.replace("_", "").replace("\u2212", "-"))


def parse_quantity(text: str) -> Quantity | None:
    """The quantity that a text is, read as the language reads one on a line; None where it is none.

    A number with or without a unit: digits, a point with digits on both sides, underscores between groups
    of three, a sign before it (4:1 takes none), a unit in any of its spellings, blanks of any kind between
    them and none around them.
    """
    found = re.fullmatch(_LITERAL, text)
    if found is None or len(found["number"]) > LONGEST_NUMBER:
        return None
    ratio = found["unit"] == RATIO_TO_ONE.symbol
    unit = SPELLINGS.get(found["unit"] if ratio else found["unit"].strip())
    if unit is None or (ratio and found["sign"]):
        return None
    number = Fraction(found["number"].replace("_", ""))
    return Quantity(-number if found["sign"] in ("-", "\u2212") else number, unit)


def _exact_places(denominator: int) -> int | None:
    """Digits behind the point that a fraction in lowest terms needs; None where it never ends."""
    twos = (denominator & -denominator).bit_length() - 1
    rest = denominator >> twos
    fives = 0
    while rest % 5 == 0:
        rest //= 5
        fives += 1
    return max(twos, fives) if rest == 1 else None


def _about_places(size: Fraction) -> int:
    whole = int(size)
    if whole:
        return max(0, ABOUT_DIGITS - len(str(whole)))
    return ABOUT_DIGITS - 1 + len(str(int(1 / size)))


def _rounded(value: Fraction, places: int) -> str:
    scaled = round(value * 10**places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    cut = len(digits) - places
    behind = digits[cut:].rstrip("0")
    sign = "-" if scaled < 0 else ""
    return f"{sign}{digits[:cut]}.{behind}" if behind else sign + digits[:cut]
