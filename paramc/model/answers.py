"""Working out expressions, exactly or in doubles that know their error, and what has no answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from fractions import Fraction
from typing import Final, TypeAlias, TypeVar, assert_never

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
)
from paramc.numbers.arithmetic import REALS, Arithmetic
from paramc.numbers.irrational import Irrational
from paramc.numbers.real import WRITTEN_OUT_BITS, Real, Unsettled, floor
from paramc.text.source import Span

DEEPEST: Final = 40
"""How deep an expression may be nested. Deeper ones cannot be meant, and what works on numbers recurses."""

LONGEST_BITS: Final = WRITTEN_OUT_BITS
"""Bits of the numerator or denominator of any sum or product on the way: about 2500 digits."""

N = TypeVar("N")

Work: TypeAlias = Callable[[Mapping[str, N]], N]
"""From what the names stand for to the answer."""


class Why(Enum):
    """What keeps an expression or conversion from an answer."""

    BY_ZERO = "divides by zero"
    NOT_REAL = "is not real"
    TOO_LARGE = "is too large"
    TOO_DEEP = "is nested too deep"


class NoAnswer(ArithmeticError):
    """An expression or conversion has no answer for the numbers that it was given.

    sentence: why, as a whole one. place: the part of the expression where it shows, where that is known.
    """

    def __init__(self, why: Why, sentence: str, place: Span | None = None) -> None:
        super().__init__(sentence)
        self.why = why
        self.sentence = sentence
        self.place = place


_NO_LOGARITHM: Final = "The expression takes the logarithm of a number that is not above zero."
_NOT_REAL: Final = {
    Function.SQRT: "The expression takes the square root of a negative number.",
    Function.LN: _NO_LOGARITHM,
    Function.LG: _NO_LOGARITHM,
    Function.TAN: "The expression takes the tangent of a right angle, which has none.",
}


def evaluate(expression: Expression, bindings: Mapping[str, Real]) -> Real:
    """The number that an expression gives when its names stand for these; exact where it is rational.

    Every name is bound. NoAnswer for a division by zero, for what is not real (the logarithm or root of a
    negative number, zero to a negative power, a negative number to one that is not whole), for what is too
    large to be settled, and for what is nested more than DEEPEST deep.
    """
    return made_ready(REALS, expression)(bindings)


def made_ready(of: Arithmetic[N], expression: Expression) -> Work[N]:
    """`evaluate` of one expression in any arithmetic, to be asked often. What is nested too deep is refused
    at once; doubles have no other NoAnswer, and say that they know nothing."""
    if depth(expression) > DEEPEST:
        sentence = f"The expression is nested more than {DEEPEST} deep."
        raise NoAnswer(Why.TOO_DEEP, sentence, expression.place)
    work = _work(of, expression)

    def answer(bindings: Mapping[str, N]) -> N:
        try:
            number = work(bindings)
            if isinstance(number, Irrational) and not number.near[1] < 1:
                floor(number)
        except Unsettled:
            sentence = "The expression is too large to be settled, or is the difference of two such numbers."
            raise NoAnswer(Why.TOO_LARGE, sentence, expression.place) from None
        return number

    return answer


def _work(of: Arithmetic[N], expression: Expression) -> Work[N]:
    match expression:
        case Number(value):
            number = of.of(value)
            return lambda bindings: number
        case Name(name):
            return lambda bindings: bindings[name]
        case Negated(inner):
            positive = _work(of, inner)
            return lambda bindings: of.negate(positive(bindings))
        case Sum():
            return _sum(of, expression)
        case Reciprocal(inner) as divides:
            one, divisor = of.ratio(1, 1), _work(of, inner)
            return lambda bindings: _quotient(of, one, divisor(bindings), divides)
        case Factors():
            return _product(of, expression)
        case Power():
            return _power(of, expression)
        case Call():
            return _call(of, expression)
        case other:
            assert_never(other)


def _sum(of: Arithmetic[N], expression: Sum) -> Work[N]:
    first, *rest = (_work(of, term) for term in expression.terms)
    add = of.add

    def total(bindings: Mapping[str, N]) -> N:
        number = first(bindings)
        for term in rest:
            number = add(number, term(bindings))
        return _bounded(number, expression)

    return total


def _product(of: Arithmetic[N], expression: Factors) -> Work[N]:
    first = _work(of, expression.factors[0])
    rest = [
        (_work(of, factor.of), factor) if isinstance(factor, Reciprocal) else (_work(of, factor), None)
        for factor in expression.factors[1:]
    ]
    multiply = of.multiply

    def product(bindings: Mapping[str, N]) -> N:
        number = first(bindings)
        for factor, divides in rest:
            by = factor(bindings)
            number = multiply(number, by) if divides is None else _quotient(of, number, by, divides)
        return _bounded(number, expression)

    return product


def _bounded(number: N, expression: Expression) -> N:
    if isinstance(number, Fraction):
        if max(number.numerator.bit_length(), number.denominator.bit_length()) > LONGEST_BITS:
            digits = LONGEST_BITS * 3 // 10
            sentence = f"The expression has a number of more than {digits} digits on its way."
            raise NoAnswer(Why.TOO_LARGE, sentence, expression.place)
    return number


def _quotient(of: Arithmetic[N], above: N, below: N, divides: Reciprocal) -> N:
    try:
        return of.divide(above, below)
    except ZeroDivisionError:
        raise NoAnswer(Why.BY_ZERO, "The expression divides by zero.", divides.place) from None


def _power(of: Arithmetic[N], expression: Power) -> Work[N]:
    base, exponent = _work(of, expression.base), _work(of, expression.exponent)
    times = _whole(expression.exponent)

    def power(bindings: Mapping[str, N]) -> N:
        number = base(bindings)
        try:
            return of.power(number, exponent(bindings)) if times is None else of.whole_power(number, times)
        except ZeroDivisionError:
            why, sentence = Why.BY_ZERO, "The expression raises zero to a negative power."
        except ValueError:
            why = Why.NOT_REAL
            sentence = "The expression raises a negative number to a power that is not whole."
        raise NoAnswer(why, sentence, expression.place)

    return power


def _whole(exponent: Expression) -> int | None:
    """The integer that is written as an exponent."""
    match exponent:
        case Number(value) if value.denominator == 1:
            return value.numerator
        case Negated(Number(value)) if value.denominator == 1:
            return -value.numerator
    return None


def _call(of: Arithmetic[N], expression: Call) -> Work[N]:
    first, *rest = (_work(of, argument) for argument in expression.arguments)
    function = expression.function
    if function in (Function.MIN, Function.MAX):
        return _chosen(of.minimum if function is Function.MIN else of.maximum, first, rest)
    of_one = {
        Function.SQRT: of.sqrt,
        Function.EXP: of.exp,
        Function.LN: of.ln,
        Function.LG: of.lg,
        Function.SIN: of.sin,
        Function.COS: of.cos,
        Function.TAN: of.tan,
        Function.ABS: of.absolute,
    }[function]

    def call(bindings: Mapping[str, N]) -> N:
        number = first(bindings)
        try:
            return of_one(number)
        except (ValueError, ZeroDivisionError):
            raise NoAnswer(Why.NOT_REAL, _NOT_REAL[function], expression.place) from None

    return call


def _chosen(choose: Callable[[N, N], N], first: Work[N], rest: Sequence[Work[N]]) -> Work[N]:
    def chosen(bindings: Mapping[str, N]) -> N:
        number = first(bindings)
        for work in rest:
            number = choose(number, work(bindings))
        return number

    return chosen
