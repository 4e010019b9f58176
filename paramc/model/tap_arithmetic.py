"""The whole numbers in which taps become a time."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction
from typing import Final

from paramc.frozen import dataclass
from paramc.model.items import Param, Selector
from paramc.model.laws import Straight
from paramc.model.product import Product
from paramc.model.scale import Stepped
from paramc.model.tap import Tap

_WIDEST_SHARE: Final = 1 << 32
_WIDEST: Final = 1 << 64


@dataclass(frozen=True, slots=True)
class TapArithmetic:
    """Times as whole numbers of `unit` ms.

    low, high: the ends of the range in ms. step: ms from code to code where `even`, else a finest time. up,
    down: what the sum of intervals is multiplied and divided by, one each a way. gap: the longest interval in
    ms. most: the greatest number that arises.
    """

    unit: Fraction
    low: Fraction
    high: Fraction
    step: Fraction
    even: bool
    up: tuple[int, ...]
    down: tuple[int, ...]
    gap: int
    most: int

    @property
    def fits(self) -> bool:
        """Whether 32 bits hold every share and every time, and 64 every product of them."""
        longest = int(self.high / self.unit)
        return max(*self.up, *self.down, longest) < _WIDEST_SHARE and self.most < _WIDEST


def tap_arithmetic(product: Product, tap: Tap) -> TapArithmetic:
    """The numbers of a product's taps; its item is a param of times above zero."""
    item = product.item(tap.item)
    assert isinstance(item, Param) and not item.scale.off_at_stop
    scale = item.scale
    milliseconds = scale.unit.factor * 1000
    low, high = scale.low * milliseconds, scale.high * milliseconds
    even = isinstance(scale.grid, Stepped) or scale.law == Straight()
    step = (high - low) / (scale.codes - 1) if even else Fraction(1, 1000)
    unit = _gcd((low, high, step))
    shares = [number / unit for number in _way_numbers(product, tap)]
    up, down = tuple(share.numerator for share in shares), tuple(share.denominator for share in shares)
    gap, counted = round(tap.gap * 1000), tap.taps - 1
    most = max(2 * counted * gap * max(up), counted * max(down) * int(high / unit))
    return TapArithmetic(unit, low, high, step, even, up, down, gap, most)


def _gcd(values: Iterable[Fraction]) -> Fraction:
    """The largest fraction that all of them are whole multiples of; some value is not zero."""
    found = Fraction(0)
    for value in values:
        scale = math.lcm(found.denominator, value.denominator)
        found = Fraction(math.gcd(int(found * scale), int(value * scale)), scale)
    return found


def _way_numbers(product: Product, tap: Tap) -> list[Fraction]:
    """What a beat is multiplied by, for each code of the chooser."""
    if tap.chooser is None:
        return [Fraction(1)]
    chooser = product.item(tap.chooser)
    assert isinstance(chooser, Selector)
    found = []
    for code in range(chooser.codes):
        number = chooser.way(code).number
        assert number is not None
        found.append(number.number)
    return found
