"""What expressions give: exact where rational, a plain sentence where there is no answer."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import mpmath
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from paramc.model.answers import DEEPEST, NoAnswer, evaluate, made_ready
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
    written,
)
from paramc.numbers.arithmetic import NEARS
from paramc.numbers.real import compare, power, to_text
from paramc.text.source import Source, Span

F = Fraction
VALUE = Name("value")
HERE = Span(Source("it.paramc", "1 / (value - 2)"), 0, 15)


def number(text: str | int) -> Number:
    return Number(F(text))


def call(word: str, *arguments: Expression) -> Call:
    return Call(Function(word), arguments)


def difference(a: Expression, b: Expression) -> Sum:
    return Sum((a, Negated(b)))


def quotient(a: Expression, b: Expression) -> Factors:
    return Factors((a, Reciprocal(b)))


SINE_SQUARED, COSINE_SQUARED = (Power(call(word, VALUE), number(2)) for word in ("sin", "cos"))
GIANT = Power(number(10), number(9))


@pytest.mark.parametrize(
    ("expression", "value", "answer"),
    [
        (Negated(Power(number(2), number(2))), "0", "-4"),
        (Power(number(2), Power(number(3), number(2))), "0", "512"),
        (Power(number(2), Negated(number(3))), "0", "1/8"),
        (Power(Negated(VALUE), number(3)), "2", "-8"),
        (Power(VALUE, number("0.5")), "2.25", "3/2"),
        (Power(number(0), number(0)), "0", "1"),
        (Sum((VALUE, Negated(number("0.3")), number("0.1"))), "0.2", "0"),
        (Factors((VALUE, Reciprocal(number(3)), number(3))), "0.1", "1/10"),
        (Reciprocal(VALUE), "0.25", "4"),
        (call("sqrt", quotient(number(4), VALUE)), "9", "2/3"),
        (call("exp", call("ln", VALUE)), "7.5", "15/2"),
        (call("lg", Factors((VALUE, VALUE))), "0.01", "-4"),
        (Power(number(10), quotient(VALUE, number(20))), "-60", "1/1000"),
        (call("sin", difference(VALUE, VALUE)), "3", "0"),
        (call("cos", number(0)), "3", "1"),
        (call("tan", Factors((number(0), VALUE))), "3", "0"),
        (call("min", VALUE, number(3), number("2.5")), "4", "5/2"),
        (call("max", VALUE, number(3), number("2.5")), "2", "3"),
        (call("abs", difference(VALUE, number(3))), "1", "2"),
        # The sine squared and the cosine squared: a tie that hides.
        (difference(Sum((SINE_SQUARED, COSINE_SQUARED)), number(1)), "2", "0"),
        # Giants on the way do no harm.
        (Reciprocal(quotient(number(1), Power(number(10), number(3)))), "0", "1000"),
        (quotient(Power(number(10), GIANT), Power(number(10), GIANT)), "0", "1"),
    ],
)  # fmt: skip
def test_answers(expression: Expression, value: str, answer: str) -> None:
    found = evaluate(expression, {"value": F(value)})
    assert compare(found, F(answer)) == 0
    if "cos(value)" not in written(expression):
        assert isinstance(found, Fraction)


def test_other_names_are_bound_too() -> None:
    gain = Power(number(10), quotient(Name("loop_gain"), number(20)))
    loop = Factors((quotient(Name("repeats"), number(100)), gain))
    found = evaluate(loop, {"repeats": F(110), "loop_gain": F("-1.5")})
    assert compare(found, power(F(10), F("-1.5") / 20)) == 1
    assert to_text(found, 8) == to_text(F(str(1.1 * 10 ** (-1.5 / 20))), 8)
    assert evaluate(loop, {"repeats": F(50), "loop_gain": F(20)}) == 5


NO_LOGARITHM = "The expression takes the logarithm of a number that is not above zero."
TOO_LARGE = "The expression is too large to be settled, or is the difference of two such numbers."


@pytest.mark.parametrize(
    ("expression", "value", "sentence"),
    [
        (Reciprocal(difference(VALUE, number(2))), "2", "The expression divides by zero."),
        (quotient(number(0), VALUE), "0", "The expression divides by zero."),
        (Reciprocal(difference(call("ln", number(6)), Sum((call("ln", VALUE), call("ln", number(3)))))), "2",
         "The expression divides by zero."),
        (call("sqrt", VALUE), "-1", "The expression takes the square root of a negative number."),
        (call("ln", VALUE), "0", NO_LOGARITHM), (call("lg", VALUE), "-3", NO_LOGARITHM),
        (Power(VALUE, Negated(number(1))), "0", "The expression raises zero to a negative power."),
        (Power(VALUE, number("-0.5")), "0", "The expression raises zero to a negative power."),
        (Power(VALUE, number("0.5")), "-4",
         "The expression raises a negative number to a power that is not whole."),
        (Power(number(10), Power(number(10), VALUE)), "9", TOO_LARGE),
        (call("exp", call("exp", VALUE)), "50", TOO_LARGE),
        (difference(call("exp", call("exp", VALUE)), call("exp", call("exp", number(49)))), "50", TOO_LARGE),
        (call("sin", Power(number(10), VALUE)), "2000", TOO_LARGE),
        (Factors((Power(VALUE, number(4000)),) * 3), "3",
         "The expression has a number of more than 2457 digits on its way."),
    ],
)  # fmt: skip
def test_no_answer(expression: Expression, value: str, sentence: str) -> None:
    with pytest.raises(NoAnswer) as told:
        evaluate(expression, {"value": F(value)})
    assert told.value.sentence == sentence
    if sentence != TOO_LARGE and "digits" not in sentence:
        _, error = made_ready(NEARS, expression)({"value": NEARS.of(F(value))})
        assert not math.isfinite(error), "and no double claims one"


def test_the_place_is_that_of_the_part_where_it_shows() -> None:
    divisor = Span(HERE.source, 4, 15)
    expression = Factors((number(1), Reciprocal(difference(VALUE, number(2)), place=divisor)), place=HERE)
    with pytest.raises(NoAnswer) as told:
        evaluate(expression, {"value": F(2)})
    assert told.value.place == divisor
    with pytest.raises(NoAnswer) as told:
        evaluate(call("sqrt", Call(Function.LN, (VALUE,), place=HERE)), {"value": F(0)})
    assert told.value.place == HERE


def nested(step: Callable[[Expression], Expression], times: int) -> Expression:
    expression: Expression = VALUE
    for _ in range(times):
        expression = step(expression)
    return expression


@pytest.mark.parametrize("word", ["sin", "tan", "exp", "sqrt", "abs"])
def test_what_is_nested_too_deep_is_refused(word: str) -> None:
    with pytest.raises(NoAnswer, match="nested more than 40 deep"):
        evaluate(nested(lambda inner: call(word, inner), DEEPEST), {"value": F(1)})


def test_what_may_be_nested_can_be_worked_out() -> None:
    """To forty digits, and without coming near the end of the stack."""
    half = number("0.5")
    for step, times in [
        (lambda inner: call("sin", inner), DEEPEST - 1),
        (lambda inner: call("tan", inner), DEEPEST - 1),
        (lambda inner: Power(number("1.01"), inner), DEEPEST - 1),
        (lambda inner: Reciprocal(Sum((number(1), call("sin", inner)))), (DEEPEST - 1) // 3),
        (lambda inner: Power(Sum((number(1), inner)), half), (DEEPEST - 1) // 2),
        (lambda inner: call("exp", Negated(inner)), (DEEPEST - 1) // 2),
    ]:
        expression = nested(step, times)
        found = evaluate(expression, {"value": F("1.5")})
        with mpmath.workdps(60):
            other = F(mpmath.nstr(_other(expression, F("1.5")), 50))
        assert to_text(found, 40) == to_text(other, 40)


# ---- a second road: the same tree in the arithmetic of another library


def _other(expression: Expression, value: Fraction) -> mpmath.mpf:
    def of(part: Expression) -> mpmath.mpf:
        match part:
            case Number(plain):
                return mpmath.mpf(plain.numerator) / plain.denominator
            case Name():
                return mpmath.mpf(value.numerator) / value.denominator
            case Negated(inner):
                return -of(inner)
            case Reciprocal(inner):
                return 1 / of(inner)
            case Sum(terms):
                return mpmath.fsum(of(term) for term in terms)
            case Factors(factors):
                return mpmath.fprod(of(factor) for factor in factors)
            case Power(base, exponent):
                return of(base) ** of(exponent)
            case Call(function, arguments):
                functions = {"lg": mpmath.log10, "min": min, "max": max, "abs": abs}
                known = functions.get(function.value) or getattr(mpmath, function.value)
                return known(*(of(argument) for argument in arguments))

    return of(expression)


LEAVES = st.one_of(st.just(VALUE), st.fractions(0, 9, max_denominator=20).map(Number))
ONE_ARGUMENT = st.sampled_from([function for function in Function if function.takes(1)])


def _parts(inner: st.SearchStrategy[Expression]) -> st.SearchStrategy[Expression]:
    several = st.lists(inner, min_size=2, max_size=3).map(tuple)
    return st.one_of(
        st.builds(Negated, inner),
        st.builds(Reciprocal, inner),
        st.builds(Sum, several),
        st.builds(Factors, several),
        st.builds(Power, inner, st.one_of(inner, st.integers(-3, 3).map(lambda n: Number(F(n))))),
        st.builds(lambda function, argument: Call(function, (argument,)), ONE_ARGUMENT, inner),
        st.builds(lambda arguments: Call(Function.MIN, arguments), several),
        st.builds(lambda arguments: Call(Function.MAX, arguments), several),
    )


EXPRESSIONS = st.recursive(LEAVES, _parts, max_leaves=8)


@settings(deadline=None, max_examples=200)
@given(EXPRESSIONS, st.fractions(-3, 3, max_denominator=30))
def test_both_roads_agree(expression: Expression, value: Fraction) -> None:
    value_, error = made_ready(NEARS, expression)({"value": NEARS.of(value)})
    try:
        found = evaluate(expression, {"value": value})
    except NoAnswer as told:
        assert not math.isfinite(error) or "settled" in told.sentence or "digits" in told.sentence
        return
    if math.isfinite(error):
        assert compare(found, F(value_) - F(error)) >= 0 >= compare(found, F(value_) + F(error))
    with mpmath.workdps(60):
        try:
            other = _other(expression, value)
        except (ZeroDivisionError, TypeError):
            # A zero that hides: the other library divides by it, or takes a root of what it holds for less.
            assume(False)
        assume(isinstance(other, mpmath.mpf) and mpmath.isfinite(other) and 1e-9 < abs(other) < 1e9)
        close = F(mpmath.nstr(other, 50))
    assert abs(F(to_text(found, 40)) - close) <= abs(close) / 10**20
