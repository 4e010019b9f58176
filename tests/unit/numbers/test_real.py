"""The constructors: what becomes a fraction, what stays a tree, and that both mean the right number."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.real import (
    PI,
    Irrational,
    Real,
    Unsettled,
    add,
    compare,
    divide,
    exp,
    floor,
    ln,
    multiply,
    nearest,
    negate,
    power,
    subtract,
    to_text,
)
from tests.unit.numbers import second_road

F = Fraction
HALF = F(1, 2)
ROOT_2, ROOT_3, ROOT_6, ROOT_8 = (power(F(n), HALF) for n in (2, 3, 6, 8))


@pytest.mark.parametrize(
    ("number", "value"),
    [
        (power(F("6.25"), HALF), "5/2"), (power(F("12.25"), HALF), "7/2"), (power(F(8), F(-2, 3)), "1/4"),
        (power(F(10), F(-60, 20)), "1/1000"), (power(F(-8), F(3)), "-512"), (power(F(-2), F(-2)), "1/4"),
        (power(F(0), F(1, 3)), "0"), (power(F(0), F(0)), "1"), (power(F(1), F(10**9, 7)), "1"),
        (multiply(ROOT_2, ROOT_8), "4"), (multiply(multiply(ROOT_2, ROOT_3), ROOT_6), "6"),
        (multiply(ROOT_6, multiply(ROOT_3, ROOT_2)), "6"), (divide(ROOT_8, ROOT_2), "2"),
        (divide(PI, PI), "1"),
        (subtract(add(ROOT_2, ROOT_3), add(ROOT_3, ROOT_2)), "0"), (power(ROOT_2, F(4)), "4"),
        (divide(add(ROOT_2, F(1)), multiply(add(ROOT_2, F(1)), F(3))), "1/3"),
        (exp(F(0)), "1"), (ln(F(1)), "0"), (exp(ln(F(7, 3))), "7/3"), (ln(exp(F(7, 3))), "7/3"),
        (exp(multiply(ln(F(9)), HALF)), "3"), (multiply(exp(F(3)), exp(F(-3))), "1"), 
        (divide(ln(F(8)), ln(F(4))), "3/2"), (divide(ln(F("0.01")), ln(F(10))), "-2"),
        (multiply(F(0), PI), "0"), (multiply(PI, divide(F(2), PI)), "2"),
        # The share of the s taper at quarter travel, 2x to the power log2(50/P), halved: P % again.
        (multiply(power(HALF, divide(ln(F(50, 7)), ln(F(2)))), HALF), "7/100"),
        (multiply(exp(multiply(ln(HALF), divide(ln(F(4)), ln(F(2))))), HALF), "1/8"),
    ],
)  # fmt: skip
def test_what_can_be_proved_rational_is_a_fraction(number: Real, value: str) -> None:
    assert isinstance(number, Fraction)
    assert number == F(value)


@pytest.mark.parametrize(
    "number",
    [ROOT_2, power(F(10), F(1, 20)), exp(F(1)), ln(F(2)), PI, power(F(2), ROOT_2), add(ROOT_2, ROOT_3),
     divide(ln(F(3)), ln(F(2))), power(F(85, 33), F(1, 1023)), exp(ln(PI)), ln(exp(PI))],
)  # fmt: skip
def test_what_is_irrational_stays_a_tree(number: Real) -> None:
    assert isinstance(number, Irrational)


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        (lambda: power(F(-8), F(1, 3)), ValueError), (lambda: power(F(-1), ROOT_2), ValueError),
        (lambda: power(negate(ROOT_2), HALF), ValueError),
        (lambda: ln(F(0)), ValueError), (lambda: ln(F(-1)), ValueError), (lambda: ln(negate(PI)), ValueError),
        (lambda: ln(subtract(F(3), PI)), ValueError),
        (lambda: power(F(0), F(-1)), ZeroDivisionError), (lambda: power(F(0), negate(PI)), ZeroDivisionError),
        (lambda: divide(PI, F(0)), ZeroDivisionError), (lambda: divide(F(1), F(0)), ZeroDivisionError),
        (lambda: divide(F(1), subtract(subtract(ln(F(6)), ln(F(2))), ln(F(3)))), ZeroDivisionError),
    ],
)  # fmt: skip
def test_what_is_no_real_number_is_refused(wrong: Callable[[], Real], error: type[Exception]) -> None:
    with pytest.raises(error):
        wrong()


def test_nothing_writes_out_a_giant() -> None:
    giant = power(F(10), F(10**9))
    giants = [giant, power(giant, F(10**9)), exp(giant), exp(exp(giant)), multiply(giant, PI)]
    for number in giants:
        assert isinstance(number, Irrational)
        assert compare(number, F(10**100)) == 1
        assert compare(F(10**100), number) == -1
        with pytest.raises(Unsettled):
            nearest(number)
        with pytest.raises(Unsettled):
            to_text(number, 5)
    assert floor(add(divide(F(1), giant), F(7))) == 7
    assert to_text(power(F(10), F(10**6)), 3) == "1e1000000"
    assert to_text(power(F("1.5"), F(10**6)), 6) == to_text(exp(multiply(ln(F("1.5")), F(10**6))), 6)


def test_a_difference_of_giants_is_settled_or_refused_but_never_guessed() -> None:
    far = F(10) ** 500
    assert compare(subtract(add(multiply(ROOT_2, far), F(1)), multiply(ROOT_2, far)), F(0)) == 1
    hidden = subtract(multiply(ln(F(6)), far), multiply(add(ln(F(2)), ln(F(3))), far))
    with pytest.raises(Unsettled):
        nearest(hidden)
    with pytest.raises(Unsettled):
        compare(hidden, F(1))


def test_long_sums_and_products_stay_flat() -> None:
    total: Real = F(0)
    product: Real = F(1)
    for n in range(2, 300):
        total = add(total, ln(F(n)))
        product = multiply(product, exp(F(1, n)))
    assert to_text(exp(multiply(total, F(1, 299))), 10) == to_text(power(F(_factorial(299)), F(1, 299)), 10)
    assert to_text(product, 10) == to_text(exp(sum((F(1, n) for n in range(2, 300)), F(0))), 10)


def _factorial(n: int) -> int:
    return 1 if n < 2 else n * _factorial(n - 1)


BASES = st.fractions(F(1, 1000), 1000, max_denominator=1000).filter(lambda f: f != 1)
EXPONENTS = st.builds(F, st.integers(-40, 40), st.integers(1, 40))


def _encloses(number: Real, units: int, slack: int = 10**6) -> None:
    """The number is what the second road counted, as far as that goes, and the double keeps its promise."""
    one = second_road.ONE
    assert compare(number, F(units - slack, one)) == 1
    assert compare(number, F(units + slack, one)) == -1
    if isinstance(number, Irrational):
        value, error = number.approx()
        assert abs(F(value) - F(units, one)) <= F(error)
        assert error < abs(value) * 1e-9 + 1e-12
        for digits in (5, 30, 100):
            low, high = number.enclose(digits)
            assert F(low) <= F(units + slack, one) and F(units - slack, one) <= F(high)
            assert high - low <= Decimal(10) ** (1 - digits) * max(abs(high), Decimal(1))


@settings(deadline=None)
@given(BASES, st.integers(1, 30), st.integers(2, 30))
def test_powers_against_roots_in_integers(base: Fraction, above: int, below: int) -> None:
    exponent = F(above, below)
    raised = base**exponent.numerator
    units = second_road.root(raised, exponent.denominator)
    _encloses(power(base, exponent), units)
    backwards = power(power(base, exponent), 1 / exponent)
    assert backwards == base


@settings(deadline=None)
@given(st.fractions(-40, 40, max_denominator=10**6))
def test_exponentials_against_the_series(x: Fraction) -> None:
    _encloses(exp(x), second_road.exponential(second_road.units(x)), slack=10**40)


@settings(deadline=None)
@given(st.fractions(F(1, 10**6), 10**6))
def test_logarithms_against_the_series(x: Fraction) -> None:
    _encloses(ln(x), second_road.logarithm(x))


@settings(deadline=None, max_examples=40)
@given(BASES, EXPONENTS, BASES, EXPONENTS)
def test_arithmetic_of_trees_against_the_second_road(
    base: Fraction, exponent: Fraction, other: Fraction, other_exponent: Fraction
) -> None:
    def counted(b: Fraction, e: Fraction) -> Fraction:
        whole = second_road.exponential(second_road.units(F(second_road.logarithm(b), second_road.ONE) * e))
        return F(whole, second_road.ONE)

    # Beside 1, so that the places of the second road are enough.
    a, b = add(power(base, exponent), F(1)), add(power(other, other_exponent), F(1))
    x, y = counted(base, exponent) + 1, counted(other, other_exponent) + 1
    for ours, theirs in ((add(a, b), x + y), (subtract(a, b), x - y), (divide(a, b), x / y)):
        allowed = max(x, y, F(1)) / F(10) ** 60
        assert compare(ours, theirs + allowed) <= 0 <= compare(ours, theirs - allowed)
    product = multiply(a, b)
    assert compare(product, x * y * (1 + F(1, 10**60))) <= 0 <= compare(product, x * y * (1 - F(1, 10**60)))
    assert multiply(a, b) == multiply(b, a) or compare(multiply(a, b), multiply(b, a)) == 0


@settings(deadline=None)
@given(st.integers(1, 300))
def test_pi_against_the_arctangents_of_euler(digits: int) -> None:
    """pi = 20 arctan(1/7) + 8 arctan(3/79), a formula other than the one inside."""
    unit = 10 ** (digits + 20)

    def arctan(x: Fraction) -> int:
        term, total, odd = x, 0, 1
        while units := term.numerator * unit // term.denominator:
            total += units // odd if odd % 4 == 1 else -(units // odd)
            term = F(units, unit) * x * x
            odd += 2
        return total

    pi = F(20 * arctan(F(1, 7)) + 8 * arctan(F(3, 79)), unit)
    low, high = PI.enclose(digits)
    assert F(low) < pi < F(high)
    assert high - low < Decimal(10) ** (1 - digits)
