from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.roots import perfect_power


@pytest.mark.parametrize(
    ("number", "base", "count"),
    [
        ("8", "2", 3), ("1/100", "10", -2), ("6", "6", 1), ("4/9", "3/2", -2), ("27/8", "3/2", 3),
        ("8/9", "9/8", -1),
        ("64", "2", 6), ("4096", "2", 12), ("36", "6", 2), ("72", "72", 1), ("121", "11", 2),
        ("11/13", "13/11", -1),
        (str(11**30), "11", 30), (str((10**40 + 1) ** 3), str(10**40 + 1), 3), (str(2**1000), "2", 1000),
        (str(3**200) + "/" + str(2**200), "3/2", 200), (str(101**6), "101", 6), (str(101**6 + 1), None, 1),
    ],
)  # fmt: skip
def test_perfect_powers(number: str, base: str | None, count: int) -> None:
    assert perfect_power(Fraction(number)) == (Fraction(base or number), count)


@settings(deadline=None)
@given(st.fractions(Fraction(1, 10**6), 10**6).filter(lambda f: f != 1), st.integers(1, 60))
def test_a_power_is_known_by_the_base_of_its_number(number: Fraction, times: int) -> None:
    base, count = perfect_power(number)
    assert base > 1
    assert base**count == number
    assert perfect_power(number**times) == (base, count * times)
    assert perfect_power(1 / number) == (base, -count)


@pytest.mark.parametrize(
    ("number", "base", "count"),
    [
        (Fraction(2) ** 200_001, Fraction(2), 200_001),
        (Fraction(12, 7) ** 6_000, Fraction(12, 7), 6_000),
        (Fraction(3**50_001, 2), Fraction(3**50_001, 2), 1),
    ],
)
def test_long_numbers(number: Fraction, base: Fraction, count: int) -> None:
    """With one division for every factor these would take minutes."""
    assert perfect_power(number) == (base, count)
