"""A number that may have no exact decimal, with its unit, as people read it."""

from __future__ import annotations

from fractions import Fraction

from paramc.numbers.quantity import ABOUT_DIGITS, Quantity
from paramc.numbers.real import Real, to_text
from paramc.numbers.units import Unit


def real_text(number: Real, unit: Unit, digits: int = ABOUT_DIGITS) -> str:
    """A number in a unit, exact where it is a fraction, and else "about " and so many significant digits.

    Unsettled where the number is too large, or the difference of such numbers.
    """
    if isinstance(number, Fraction):
        return str(Quantity(number, unit))
    return f"about {Quantity(Fraction(to_text(number, digits)), unit)}"
