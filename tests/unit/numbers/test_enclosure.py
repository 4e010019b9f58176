"""Interval arithmetic: outwards always, also where a result overflows, underflows or means nothing."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.enclosure import Precision

ANYTHING = (Decimal("-Infinity"), Decimal("Infinity"))
FRACTIONS = st.fractions(-(10**9), 10**9)
DIGITS = st.integers(1, 40)


@settings(deadline=None)
@given(FRACTIONS, FRACTIONS, DIGITS)
def test_sums_products_and_reciprocals_hold_the_exact_result(a: Fraction, b: Fraction, digits: int) -> None:
    precision = Precision(digits)
    x, y = precision.fraction(a), precision.fraction(b)
    for exact, (low, high) in (
        (a, x),
        (a + b, precision.add(x, y)),
        (a * b, precision.multiply(x, y)),
    ):
        assert low <= exact <= high
    low, high = precision.reciprocal(x)
    if a:
        assert low <= 1 / a <= high
    else:
        assert (low, high) == ANYTHING


@settings(deadline=None)
@given(st.fractions(-30, 30), DIGITS)
def test_exp_and_ln_undo_each_other(a: Fraction, digits: int) -> None:
    precision = Precision(digits)
    low, high = precision.ln(precision.exp(precision.fraction(a)))
    assert low <= a <= high
    coarse, fine = precision.exp(precision.fraction(a)), Precision(digits + 20).exp(Precision(99).fraction(a))
    assert coarse[0] <= fine[1] and fine[0] <= coarse[1]


def test_what_overflows_and_underflows_stays_enclosed() -> None:
    precision = Precision(20)
    huge = precision.fraction(Fraction(10**12))
    low, high = precision.exp(huge)
    assert low > Decimal("9e399999999") and high == Decimal("Infinity")
    low, high = precision.exp(precision.fraction(Fraction(-(10**12))))
    assert low == 0 and 0 < high < Decimal("1e-399999999")
    vast = precision.exp(huge)
    assert precision.add(vast, precision.multiply(vast, (Decimal(-1), Decimal(-1)))) == ANYTHING
    assert precision.multiply((Decimal(0), Decimal(0)), vast) == ANYTHING
    assert precision.exp(ANYTHING) == (Decimal(0), Decimal("Infinity"))


def test_what_may_be_zero_has_no_bound() -> None:
    precision = Precision(20)
    around = (Decimal(-1), Decimal(1))
    assert precision.reciprocal(around) == ANYTHING
    assert precision.ln((Decimal(-1), Decimal(0))) == ANYTHING
    low, high = precision.ln((Decimal(0), Decimal(1)))
    assert low == Decimal("-Infinity") and 0 <= high < Decimal("1e-15")
