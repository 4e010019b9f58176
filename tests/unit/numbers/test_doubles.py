"""Each double keeps its error bound, and says so where it knows nothing."""

from __future__ import annotations

import math
from collections.abc import Callable
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


@settings(deadline=None)
@given(st.fractions(Fraction(1, 1000), 1000, max_denominator=1000), st.integers(-9, 9), st.integers(1, 20))
def test_raised(base: Fraction, above: int, below: int) -> None:
    exact = Fraction(second_road.root(base**above, below), second_road.ONE)
    near = doubles.raised(doubles.of_fraction(base), doubles.of_fraction(Fraction(above, below)))
    _holds(near, exact)
    assert near[1] < 1e-10 * near[0]
    if below == 2:
        _holds(doubles.sqrt(doubles.of_fraction(base**above)), exact)


@settings(deadline=None)
@given(
    st.fractions(Fraction(1, 2), 2, max_denominator=1000), st.fractions(-2, 2, max_denominator=1000),
    st.floats(1e-15, 1e-7), st.floats(-1, 1), st.floats(-1, 1),
)  # fmt: skip
def test_raised_knows_what_its_own_numbers_may_be_off(
    base: Fraction, exponent: Fraction, error: float, base_share: float, exponent_share: float
) -> None:
    b, e = (float(base), error + 1e-13), (float(exponent), error + 1e-13)
    off_base = Fraction(b[0]) + Fraction(error * base_share)
    off_exponent = Fraction(e[0]) + Fraction(error * exponent_share)
    exponent_of_e = second_road.logarithm(off_base) * off_exponent.numerator // off_exponent.denominator
    exact = Fraction(second_road.exponential(exponent_of_e), second_road.ONE)
    value, bound = doubles.raised(b, e)
    assert abs(Fraction(value) - exact) <= Fraction(bound) < 1e-5


@settings(deadline=None)
@given(st.fractions(-3, 3, max_denominator=60).filter(bool), st.integers(-40, 40))
def test_whole_powers_of_either_sign(base: Fraction, times: int) -> None:
    near = doubles.whole_power(doubles.of_fraction(base), times)
    assert abs(Fraction(near[0]) - base**times) <= Fraction(near[1])
    assert near[1] < 1e-10 * max(abs(near[0]), 1)


@given(FRACTIONS, FRACTIONS)
def test_signs_sizes_and_order(a: Fraction, b: Fraction) -> None:
    x, y = doubles.of_fraction(a), doubles.of_fraction(b)
    for near, exact in (
        (doubles.negate(x), -a),
        (doubles.absolute(x), abs(a)),
        (doubles.minimum(x, y), min(a, b)),
        (doubles.maximum(x, y), max(a, b)),
        (doubles.ratio(a.numerator, a.denominator), a),
    ):
        _holds(near, exact)
    if doubles.below(x, y):
        assert a < b
    elif doubles.below(y, x):
        assert b < a
    else:
        assert abs(a - b) <= Fraction(x[1] + y[1]) * 2


@pytest.mark.parametrize(
    ("near", "rule", "integer"),
    [
        ((2.3, 0.1), round, 2), ((2.3, 0.1), math.floor, 2), ((2.3, 0.1), math.ceil, 3),
        ((2.5, 1e-12), round, None), ((2.0, 1e-12), math.floor, None), ((2.0, 1e-12), math.ceil, None),
        ((2.0, 1e-12), round, 2), ((2.3, 0.3), round, None), (UNKNOWN, round, None),
        ((math.nan, math.nan), round, None), ((-2.3, 0.1), math.floor, -3),
    ],
)  # fmt: skip
def test_an_integer_is_settled_or_left_open(
    near: Near, rule: Callable[[float], int], integer: int | None
) -> None:
    assert doubles.settled(near, rule) == integer


@pytest.mark.parametrize(
    "near",
    [
        doubles.raised((-2.0, 1e-12), (2.0, 1e-12)),
        doubles.raised((1e-13, 1e-12), (0.5, 1e-12)),
        doubles.raised((10.0, 1e-12), (400.0, 1e-12)),
        doubles.raised((2.0, 1e-12), UNKNOWN),
        doubles.raised(UNKNOWN, (2.0, 1e-12)),
        doubles.raised((2.0, 0.5), (2.0, 1e-12)),
        doubles.sqrt((0.0, 1e-12)),
        doubles.sqrt(UNKNOWN),
        doubles.sin((1e7, 1e-9)),
        doubles.cos((1e7, 1e-9)),
        doubles.sin(UNKNOWN),
        doubles.cos((math.nan, math.nan)),
        doubles.ratio(10**400, 1),
        doubles.whole_power((1e-13, 1e-12), 40),
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
        doubles.minimum(UNKNOWN, known),
        doubles.maximum(known, UNKNOWN),
        doubles.minimum(overflow, known),
        doubles.maximum(known, doubles.multiply(overflow, (0.0, 0.0))),
        doubles.absolute(UNKNOWN),
        doubles.divide(known, UNKNOWN),
        doubles.divide(known, (1e-13, 1e-12)),
        doubles.lg(UNKNOWN),
        doubles.tan((math.pi / 2, 1e-9)),
        doubles.whole_power(UNKNOWN, 2),
        doubles.whole_power(UNKNOWN, -3),
        doubles.whole_power(UNKNOWN, 0),
    ):
        assert math.isinf(near[1]) or math.isnan(near[1])
