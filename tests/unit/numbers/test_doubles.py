"""Each double keeps its error bound, and says so where it knows nothing."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers import doubles
from paramc.numbers.doubles import UNKNOWN, Near
from tests.unit.numbers import second_road

FRACTIONS = st.fractions(-(10**12), 10**12)


def _holds(near: Near, exact: Fraction) -> None:
    value, error = near
    assert abs(Fraction(value) - exact) <= Fraction(error) / 2, "and half of the bound is to spare"
    assert error >= abs(value) * doubles.ROOM


@settings(deadline=None)
@given(FRACTIONS, FRACTIONS)
def test_arithmetic(a: Fraction, b: Fraction) -> None:
    x, y = doubles.of_fraction(a), doubles.of_fraction(b)
    _holds(x, a)
    _holds(doubles.add(x, y), a + b)
    _holds(doubles.multiply(x, y), a * b)
    if a and doubles.reciprocal(x) != UNKNOWN:
        _holds(doubles.reciprocal(x), 1 / a)


@settings(deadline=None)
@given(st.fractions(-100, 100))
def test_exp(a: Fraction) -> None:
    exact = Fraction(second_road.exponential(second_road.units(a)), second_road.ONE)
    _holds(doubles.exp(doubles.of_fraction(a)), exact)


@settings(deadline=None)
@given(st.fractions(Fraction(1, 10**9), 10**9))
def test_ln(a: Fraction) -> None:
    _holds(doubles.ln(doubles.of_fraction(a)), Fraction(second_road.logarithm(a), second_road.ONE))


@settings(deadline=None)
@given(st.fractions(Fraction(1, 1000), 1000, max_denominator=1000), st.integers(-9, 9), st.integers(1, 20))
def test_power(base: Fraction, above: int, below: int) -> None:
    exact = Fraction(second_road.root(base**above, below), second_road.ONE)
    _holds(doubles.power(base, Fraction(above, below)), exact)


@pytest.mark.parametrize(
    "near",
    [
        doubles.of_fraction(Fraction(10) ** 400),
        doubles.power(Fraction(10), Fraction(400)),
        doubles.power(Fraction(10) ** 400, Fraction(1, 2)),
        doubles.power(1 / Fraction(10) ** 400, Fraction(1, 2)),
        doubles.power(Fraction(10**17 + 1, 10**17), Fraction(10**16)),
        doubles.exp((800.0, 1e-9)),
        doubles.exp((1.0, 0.5)),
        doubles.exp(UNKNOWN),
        doubles.ln(UNKNOWN),
        doubles.ln((1.0, 0.7)),
        doubles.ln((-1.0, 1e-9)),
        doubles.reciprocal((0.0, 0.0)),
        doubles.reciprocal((1e-9, 1e-8)),
    ],
)
def test_where_nothing_is_known(near: Near) -> None:
    assert near == UNKNOWN


def test_nothing_known_never_turns_into_something() -> None:
    known = (3.0, 1e-12)
    overflow = doubles.multiply((1e300, 1e280), (1e300, 1e280))
    for near in (
        doubles.add(UNKNOWN, known),
        doubles.multiply(UNKNOWN, known),
        doubles.multiply(UNKNOWN, (0.0, 0.0)),
        overflow,
        doubles.add(overflow, overflow),
        doubles.multiply(overflow, UNKNOWN),
    ):
        assert math.isinf(near[1]) or math.isnan(near[1])
