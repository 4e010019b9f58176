"""Taps as whole numbers: nothing is lost in them, and the last product of them that fits is known."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.tap_rules import with_tap
from paramc.model.tap_arithmetic import TapArithmetic, tap_arithmetic
from tests.unit.check.told import product_of, stops

_BLOCK = "tap BEAT sets time by beat {{ taps {}  gap {}  fold halve }}"
_WAYS = 'selector beat "Beat" {{ way whole "1/4" = 1  way part "Part" = {}  default whole }}\n'


def text(time: str, part: str = "3/4", taps: int = 3, gap: str = "2 s") -> str:
    """The example with such a time, a way of such a part of a beat, and as many taps."""
    items = f'param time "Time" {{ {time} }}\n' + _WAYS.format(part)
    return with_tap(_BLOCK.format(taps, gap), items)


def whole(source: str) -> TapArithmetic:
    product = product_of(source)
    assert product.tap is not None
    return tap_arithmetic(product, product.tap)


@pytest.mark.parametrize(("time", "unit"), [
    ("range 20 ms .. 1200 ms  noon 350 ms  step 1 ms", Fraction(1)),
    ("range 20 ms .. 1200 ms  noon 340 ms  step 20 ms", Fraction(20)),
    ("range 0.02 s .. 1.2 s  noon 0.35 s  step 0.001 s", Fraction(1)),
    ("range 20 ms .. 1200 ms  noon 350 ms  step 0.4 ms", Fraction(2, 5)),
    ("range 1200 ms .. 20 ms  noon 350 ms  step 1 ms", Fraction(1)),
    # Of a grid by travel every border is told to a thousandth of a ms.
    ("range 20 ms .. 1200 ms  noon 350 ms  coded 8 bits", Fraction(1, 1000)),
])
def test_the_unit_divides_both_ends_and_the_step(time: str, unit: Fraction) -> None:
    made = whole(text(time))
    assert made.unit == unit
    assert all((length / unit).denominator == 1 for length in (made.low, made.high, made.step))
    assert (int(made.low), int(made.high), made.gap) == (20, 1200, 2000)


@pytest.mark.parametrize("part", ["2", "3/4", "1/3", "1"])
@pytest.mark.parametrize("unit", ["1", "20", "0.4"])
def test_shares_are_those_of_the_ways_in_units(part: str, unit: str) -> None:
    made = whole(text(f"range 20 ms .. 1200 ms  noon 100 ms  step {unit} ms", part))
    shares = [Fraction(up, down) for up, down in zip(made.up, made.down, strict=True)]
    assert shares == [1 / Fraction(unit), Fraction(part) / Fraction(unit)]


def test_the_greatest_number_is_twice_the_intervals_or_the_longest_time() -> None:
    # 5 intervals of 3000 ms, doubled for the rounding, times 3; and 5 times 4 parts of 1200.
    made = whole(text("range 20 ms .. 1200 ms  noon 350 ms  step 1 ms", "3/4", taps=6, gap="3 s"))
    assert made.most == max(2 * 5 * 3000 * 3, 5 * 4 * 1200) == 90_000
    made = whole(text("range 20 ms .. 1200 ms  noon 350 ms  step 1 ms", "1/999", taps=6, gap="3 s"))
    assert made.most == 5 * 999 * 1200


@pytest.mark.parametrize(("part", "fits"), [
    ("1/4294967295", True), ("1/4294967296", False), ("4294967295", True), ("4294967296", False),
])
def test_shares_have_32_bits(part: str, fits: bool) -> None:
    source = text("range 20 ms .. 1200 ms  noon 350 ms  step 1 ms", part)
    assert stops(source) == ([] if fits else ["tap-too-fine"])


@pytest.mark.parametrize(("longest", "fits"), [("307445 ms", True), ("307446 ms", False)])
def test_products_have_64_bits(longest: str, fits: bool) -> None:
    # 15 intervals times 3999999999 parts times the longest time in thousandths of a ms.
    time = f"range 1 ms .. {longest}  noon 20000 ms  coded 8 bits"
    source = text(time, "1/3999999999", taps=16, gap="30 s")
    assert stops(source) == ([] if fits else ["tap-too-fine"])
    thousandths = int(longest.split()[0]) * 1000
    assert (15 * 3_999_999_999 * thousandths < 1 << 64) == fits
