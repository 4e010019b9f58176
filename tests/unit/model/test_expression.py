"""The tree of an expression: its names, its depth, its text."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.model.expression import (
    Call,
    Expression,
    Factors,
    Function,
    Name,
    Negated,
    Number,
    Power,
    Reciprocal,
    Sum,
    depth,
    names,
    written,
)


def number(text: str) -> Number:
    return Number(Fraction(text))


ONE, TWO, THREE, VALUE, MIX = number("1"), number("2"), number("3"), Name("value"), Name("mix")
ANGLE = Factors((Negated(TWO), number("3.14159"), VALUE, Reciprocal(number("48000"))))
POLE = Sum((ONE, Negated(Call(Function.EXP, (ANGLE,)))))


def test_names() -> None:
    assert names(POLE) == {"value"}
    assert names(Call(Function.MAX, (MIX, Power(VALUE, Name("tilt"))))) == {"mix", "value", "tilt"}
    assert names(TWO) == frozenset()


def test_depth() -> None:
    assert depth(TWO) == 1
    assert depth(Sum((ONE, TWO, Negated(THREE)))) == 3
    assert depth(POLE) == 6
    chain: Expression = VALUE
    for _ in range(5000):
        chain = Negated(chain)
    assert depth(chain) == 5001, "and no recursion on the way"
    assert names(chain) == {"value"}


@pytest.mark.parametrize(
    ("expression", "text"),
    [
        (POLE, "1 - exp(-2 * 3.14159 * value / 48000)"),
        (Negated(Power(TWO, TWO)), "-2^2"),
        (Power(Negated(TWO), TWO), "(-2)^2"),
        (Power(TWO, Power(THREE, TWO)), "2^3^2"),
        (Power(Power(TWO, THREE), TWO), "(2^3)^2"),
        (Power(TWO, Negated(THREE)), "2^-3"),
        (Power(TWO, Negated(Power(THREE, TWO))), "2^-(3^2)"),
        (Power(TWO, Reciprocal(THREE)), "2^(1 / 3)"),
        (Power(Sum((ONE, VALUE)), Sum((ONE, MIX))), "(1 + value)^(1 + mix)"),
        (Sum((Negated(ONE), Negated(Sum((TWO, Negated(VALUE)))))), "-1 - (2 - value)"),
        (Sum((ONE, Sum((TWO, THREE)))), "1 + (2 + 3)"),
        (Sum((ONE, Negated(Factors((TWO, THREE))))), "1 - 2 * 3"),
        (Sum((ONE, Negated(Negated(TWO)))), "1 - -2"),
        (Negated(Sum((ONE, TWO))), "-(1 + 2)"),
        (Negated(Factors((ONE, TWO))), "-(1 * 2)"),
        (Factors((VALUE, Sum((ONE, TWO)))), "value * (1 + 2)"),
        (Factors((VALUE, Reciprocal(Factors((TWO, THREE))))), "value / (2 * 3)"),
        (Factors((VALUE, Reciprocal(Power(TWO, THREE)))), "value / 2^3"),
        (Factors((VALUE, Negated(TWO))), "value * -2"),
        (Factors((VALUE, Factors((TWO, THREE)))), "value * (2 * 3)"),
        (Factors((Reciprocal(VALUE), TWO)), "1 / value * 2"),
        (Factors((Factors((TWO, THREE)), VALUE)), "(2 * 3) * value"),
        (Reciprocal(Reciprocal(VALUE)), "1 / (1 / value)"),
        (Call(Function.MIN, (VALUE, Sum((ONE, MIX)), TWO)), "min(value, 1 + mix, 2)"),
        (Call(Function.ABS, (Negated(VALUE),)), "abs(-value)"),
        (number("0.05"), "0.05"),
        (number("-3"), "-3"),
        (Power(number("-3"), TWO), "(-3)^2"),
        (number("1/3"), "1 / 3"),
        (Power(number("1/3"), TWO), "(1 / 3)^2"),
        (Sum((ONE, number("-2/3"))), "1 + -2 / 3"),
    ],
)
def test_text(expression: Expression, text: str) -> None:
    assert written(expression) == text


@pytest.mark.parametrize(
    ("function", "counts"),
    [(Function.MIN, {2, 3, 9}), (Function.MAX, {2, 3, 9}), (Function.SQRT, {1}), (Function.ABS, {1})],
)
def test_how_many_numbers_a_function_takes(function: Function, counts: set[int]) -> None:
    for count in range(10):
        arguments = (VALUE,) * count
        assert function.takes(count) == (count in counts or (count >= 2 and 2 in counts))
        if not function.takes(count):
            with pytest.raises(ValueError, match="does not take"):
                Call(function, arguments)


def test_sums_and_products_have_two_parts() -> None:
    with pytest.raises(ValueError, match="two terms"):
        Sum((ONE,))
    with pytest.raises(ValueError, match="two factors"):
        Factors(())
