"""Roots, decimal logarithms, sizes, the lesser and the greater: what is a fraction, what is refused."""

from __future__ import annotations

from fractions import Fraction

import mpmath
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.functions import absolute, lg, maximum, minimum, sqrt
from paramc.numbers.irrational import Irrational
from paramc.numbers.real import PI, Real, add, compare, exp, ln, multiply, negate, power, subtract, to_text

F = Fraction
ROOT_2 = power(F(2), F(1, 2))
HIDDEN_ZERO = subtract(subtract(ln(F(6)), ln(F(2))), ln(F(3)))


@pytest.mark.parametrize(
    ("number", "value"),
    [
        (sqrt(F(0)), "0"), (sqrt(F("6.25")), "5/2"), (sqrt(F(1, 9)), "1/3"), (sqrt(power(F(2), F(1))), None),
        (sqrt(exp(ln(F(4)))), "2"), (multiply(sqrt(F(3)), sqrt(F(12))), "6"),
        (lg(F(1)), "0"), (lg(F(1000)), "3"), (lg(F("0.00001")), "-5"), (lg(sqrt(F(10))), "1/2"),
        (lg(power(F(10), F(-7, 3))), "-7/3"), (lg(F(2)), None),
        (absolute(F(-3, 4)), "3/4"), (absolute(F(3, 4)), "3/4"), (absolute(F(0)), "0"),
        (minimum(F(1), F(2)), "1"), (minimum(F(2), F(1)), "1"), (maximum(F(1), F(2)), "2"),
        (minimum(PI, F(3)), "3"), (maximum(F(22, 7), PI), "22/7"),
        # Of two that count as equal the fraction, which is easier to go on with.
        (minimum(add(HIDDEN_ZERO, F(3)), F(3)), "3"), (maximum(F(3), add(HIDDEN_ZERO, F(3))), "3"),
        (minimum(F(3), add(HIDDEN_ZERO, F(3))), "3"), (maximum(add(HIDDEN_ZERO, F(3)), F(3)), "3"),
    ],
)  # fmt: skip
def test_what_is_a_fraction(number: Real, value: str | None) -> None:
    assert isinstance(number, Irrational) if value is None else number == F(value)


def test_of_irrational_numbers() -> None:
    assert absolute(negate(PI)) == PI
    assert minimum(PI, ROOT_2) == ROOT_2
    assert maximum(PI, ROOT_2) == PI
    assert minimum(negate(PI), negate(ROOT_2)) == negate(PI)


@pytest.mark.parametrize("number", [F(-1), negate(PI), subtract(F(3), PI)])
def test_what_is_no_real_number_is_refused(number: Real) -> None:
    for function in (sqrt, lg):
        with pytest.raises(ValueError, match="not real"):
            function(number)


def test_zero_has_no_logarithm() -> None:
    with pytest.raises(ValueError, match="not real"):
        lg(F(0))


@settings(deadline=None)
@given(st.fractions(F(1, 10**6), 10**6))
def test_against_another_library(number: Fraction) -> None:
    with mpmath.workdps(60):
        there = mpmath.mpf(number.numerator) / number.denominator
        for ours, theirs in ((sqrt(number), mpmath.sqrt(there)), (lg(number), mpmath.log10(there))):
            published = F(mpmath.nstr(theirs, 55))
            assert abs(F(to_text(ours, 45)) - published) <= abs(published) / 10**44 + F(1, 10**50)


@given(st.fractions(), st.fractions())
def test_the_lesser_and_the_greater_are_those_of_python(a: Fraction, b: Fraction) -> None:
    assert (minimum(a, b), maximum(a, b), absolute(a)) == (min(a, b), max(a, b), abs(a))
    assert compare(minimum(a, b), maximum(a, b)) <= 0
