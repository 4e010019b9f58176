"""Sine, cosine and tangent: what is a fraction, and enclosures against a library of another make."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from math import isfinite

import mpmath
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from paramc.numbers.circular import cos, sin, tan
from paramc.numbers.doubles import FARTHEST_ANGLE
from paramc.numbers.irrational import Irrational
from paramc.numbers.real import (
    PI,
    Real,
    Unsettled,
    add,
    compare,
    divide,
    exp,
    ln,
    multiply,
    nearest,
    power,
    subtract,
    to_text,
)

F = Fraction
FUNCTIONS = [(sin, mpmath.sin), (cos, mpmath.cos), (tan, mpmath.tan)]


def turns(share: str) -> Real:
    return multiply(PI, F(share))


@pytest.mark.parametrize(
    ("number", "value"),
    [
        (sin(F(0)), "0"), (cos(F(0)), "1"), (tan(F(0)), "0"),
        (sin(PI), "0"), (cos(PI), "-1"), (tan(PI), "0"),
        (sin(turns("1/6")), "1/2"), (sin(turns("5/6")), "1/2"), (sin(turns("7/6")), "-1/2"),
        (sin(turns("-1/6")), "-1/2"), (sin(turns("1/2")), "1"), (sin(turns("-1/2")), "-1"),
        (sin(turns("25/6")), "1/2"), (sin(turns("1001")), "0"),
        (cos(turns("1/3")), "1/2"), (cos(turns("2/3")), "-1/2"), (cos(turns("-4/3")), "-1/2"),
        (cos(turns("3/2")), "0"), (cos(turns("2")), "1"),
        (tan(turns("1/4")), "1"), (tan(turns("3/4")), "-1"), (tan(turns("-1/4")), "-1"),
        (add(sin(F(2)), sin(F(-2))), "0"), (subtract(cos(F(2)), cos(F(-2))), "0"),
        (divide(tan(F(-2)), tan(F(2))), "-1"),
    ],
)  # fmt: skip
def test_what_can_be_proved_rational_is_a_fraction(number: Real, value: str) -> None:
    assert isinstance(number, Fraction)
    assert number == F(value)


@pytest.mark.parametrize("angle", [turns("1/2"), turns("-7/2"), add(PI, multiply(PI, F(-1, 2)))])
def test_a_right_angle_has_no_tangent(angle: Real) -> None:
    with pytest.raises(ZeroDivisionError):
        tan(angle)


def test_a_right_angle_that_hides_has_no_tangent_either() -> None:
    # pi / 2, as the product of pi and of a half that only looks like more.
    angle = multiply(PI, divide(ln(F(3)), ln(F(9))))
    with pytest.raises(ZeroDivisionError):
        tan(add(angle, subtract(subtract(ln(F(6)), ln(F(2))), ln(F(3)))))


def _published(function: Callable[[object], object], angle: Fraction, digits: int) -> Fraction:
    """What the other library says, with digits to spare."""
    with mpmath.workdps(digits + 40):
        return F(mpmath.nstr(function(mpmath.mpf(angle.numerator) / angle.denominator), digits))


ANGLES = st.one_of(
    st.fractions(-10, 10, max_denominator=10**6),
    st.fractions(-(10**9), 10**9, max_denominator=1000),
    st.integers(1, 60).map(lambda n: F(1, 10**n)),
)
# 355/113 and 103993/33102 lie close to pi, the third one close to a right angle.
PI_LIKE = [F(355, 113), F(103993, 33102), F("1.5707963267948966192313216916397514420986")]


@settings(deadline=None, max_examples=60)
@given(ANGLES.filter(bool), st.sampled_from([3, 30, 150]))
@example(PI_LIKE[0], 30)
@example(PI_LIKE[1], 150)
@example(PI_LIKE[2], 30)
@example(F(10**40, 7), 30)
def test_enclosures_hold_the_number_and_doubles_keep_their_promise(angle: Fraction, digits: int) -> None:
    for ours, theirs in FUNCTIONS:
        number, exact = ours(angle), _published(theirs, angle, 300)
        slack = max(abs(exact), F(1)) / F(10) ** 250
        assert isinstance(number, Irrational)
        low, high = number.enclose(digits)
        assert F(low) <= exact + slack and exact - slack <= F(high)
        if ours is not tan:
            assert high - low <= Decimal(10) ** (1 - digits)
        value, error = number.approx()
        if isfinite(error):
            assert abs(F(value) - exact) <= F(error)
        else:
            assert abs(angle) >= FARTHEST_ANGLE or ours is tan


@settings(deadline=None, max_examples=30)
@given(ANGLES.filter(bool))
def test_the_text_of_a_number_is_that_of_the_other_library(angle: Fraction) -> None:
    for ours, theirs in FUNCTIONS:
        assert to_text(ours(angle), 40) == to_text(_published(theirs, angle, 300), 40)


def test_the_circle_of_a_hidden_sum() -> None:
    angle = power(F(2), F(1, 2))
    square = add(power(sin(angle), F(2)), power(cos(angle), F(2)))
    assert compare(square, F(1)) == 0
    assert nearest(multiply(square, F(5, 2))) == 2, "a tie goes to the even integer"


def test_angles_that_are_trees() -> None:
    for number, text in [
        (sin(exp(F(1))), mpmath.sin(mpmath.e)),
        (cos(ln(F(1, 3))), mpmath.cos(mpmath.log(mpmath.mpf(1) / 3))),
        (tan(power(F(10), F(7, 2))), mpmath.tan(mpmath.mpf(10) ** 3.5)),
        (sin(multiply(PI, F(1, 5))), mpmath.sin(mpmath.pi / 5)),
    ]:
        assert to_text(number, 12) == to_text(F(mpmath.nstr(text, 14)), 12)


def test_angles_beyond_all_digits_are_refused_and_tiny_ones_are_not() -> None:
    for angle in (exp(F(10**9)), F(10) ** 1500):
        with pytest.raises(Unsettled):
            nearest(multiply(sin(angle), F(1000)))
    tiny = exp(F(-(10**9)))
    assert nearest(multiply(sin(tiny), F(1000))) == 0
    assert nearest(multiply(cos(tiny), F(1000))) == 1000
    # A tiny sine keeps its sign and its digits.
    assert to_text(sin(F(1, 10**80)), 20) == "1e-80"
    assert compare(sin(F(-1, 10**80)), F(0)) == -1


def test_nested_angles_cost_no_power_of_two() -> None:
    number: Real = F(3, 2)
    for _ in range(19):
        number = tan(multiply(number, F(100)))
    assert len(to_text(number, 10)) >= 5
