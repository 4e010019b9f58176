"""Expressions: how a number is worked out of others, as a tree; `answers` works it out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field
from enum import Enum, IntEnum
from fractions import Fraction
from typing import Final, TypeAlias, assert_never

from paramc.frozen import dataclass
from paramc.numbers.quantity import decimal_text
from paramc.text.source import Span

VALUE: Final = "value"
"""The name under which an item's own value is bound."""


class Function(Enum):
    """A function by its word. min and max take two numbers or more, all others one."""

    SQRT = "sqrt"
    EXP = "exp"
    LN = "ln"
    LG = "lg"
    SIN = "sin"
    COS = "cos"
    TAN = "tan"
    MIN = "min"
    MAX = "max"
    ABS = "abs"

    def takes(self, arguments: int) -> bool:
        """Whether it can be given so many numbers."""
        return arguments >= 2 if self in (Function.MIN, Function.MAX) else arguments == 1


@dataclass(frozen=True, slots=True)
class Number:
    """A plain number."""

    value: Fraction
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Name:
    """`value`, or an item's name."""

    name: str
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Negated:
    """- of."""

    of: Expression
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Sum:
    """Two terms or more; what is taken away is Negated."""

    terms: tuple[Expression, ...]
    place: Span | None = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        if len(self.terms) < 2:
            raise ValueError("a sum has two terms or more")


@dataclass(frozen=True, slots=True)
class Reciprocal:
    """1 / of."""

    of: Expression
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Factors:
    """Two factors or more; what is divided by is a Reciprocal."""

    factors: tuple[Expression, ...]
    place: Span | None = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        if len(self.factors) < 2:
            raise ValueError("a product has two factors or more")


@dataclass(frozen=True, slots=True)
class Power:
    """base ^ exponent."""

    base: Expression
    exponent: Expression
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Call:
    """A function of as many numbers as it takes."""

    function: Function
    arguments: tuple[Expression, ...]
    place: Span | None = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        if not self.function.takes(len(self.arguments)):
            raise ValueError(f"{self.function.value} does not take {len(self.arguments)} numbers")


Expression: TypeAlias = Number | Name | Negated | Sum | Reciprocal | Factors | Power | Call


def parts(expression: Expression) -> Iterator[Expression]:
    """The expression and all that it is made of, in reading order."""
    left = [expression]
    while left:
        here = left.pop()
        yield here
        left.extend(reversed(_inside(here)))


def names(expression: Expression) -> frozenset[str]:
    """The names that are used, VALUE among them."""
    return frozenset(part.name for part in parts(expression) if isinstance(part, Name))


def depth(expression: Expression) -> int:
    """How deep it is nested: 1 for a number."""
    level: list[Expression] = [expression]
    deep = 0
    while level:
        deep += 1
        level = [part for whole in level for part in _inside(whole)]
    return deep


def _inside(expression: Expression) -> tuple[Expression, ...]:
    match expression:
        case Number() | Name():
            return ()
        case Negated(inner) | Reciprocal(inner):
            return (inner,)
        case Sum(inside) | Factors(inside):
            return inside
        case Power(base, exponent):
            return (base, exponent)
        case Call(_, arguments):
            return arguments
        case other:
            assert_never(other)


# ---- as text


def written(expression: Expression) -> str:
    """The expression as the language writes it, with no more brackets than it needs."""
    return _text(expression, _Level.SUM)


class _Level(IntEnum):
    """What binds tighter is greater."""

    SUM = 1
    PRODUCT = 2
    SIGN = 3
    POWER = 4
    ATOM = 5


def _text(expression: Expression, least: _Level) -> str:
    """The text of a part that stands where nothing looser than `least` may."""
    level, text = _bare(expression)
    return text if level >= least else f"({text})"


def _bare(expression: Expression) -> tuple[_Level, str]:
    match expression:
        case Number(value):
            return _number(value)
        case Name(name):
            return _Level.ATOM, name
        case Negated(inner):
            return _Level.SIGN, "-" + _text(inner, _Level.SIGN)
        case Sum(terms):
            first, *rest = terms
            return _Level.SUM, _text(first, _Level.PRODUCT) + "".join(map(_further_term, rest))
        case Reciprocal(inner):
            return _Level.PRODUCT, "1 / " + _text(inner, _Level.SIGN)
        case Factors(factors):
            first, *rest = factors
            begins = _text(first, _Level.PRODUCT if isinstance(first, Reciprocal) else _Level.SIGN)
            return _Level.PRODUCT, begins + "".join(map(_further_factor, rest))
        case Power(base, exponent):
            return _Level.POWER, f"{_text(base, _Level.ATOM)}^{_exponent(exponent)}"
        case Call(function, arguments):
            inside = ", ".join(_text(argument, _Level.SUM) for argument in arguments)
            return _Level.ATOM, f"{function.value}({inside})"
        case other:
            assert_never(other)


def _further_term(term: Expression) -> str:
    if isinstance(term, Negated):
        return " - " + _text(term.of, _Level.PRODUCT)
    return " + " + _text(term, _Level.PRODUCT)


def _further_factor(factor: Expression) -> str:
    if isinstance(factor, Reciprocal):
        return " / " + _text(factor.of, _Level.SIGN)
    return " * " + _text(factor, _Level.SIGN)


def _exponent(exponent: Expression) -> str:
    if isinstance(exponent, Negated):
        return "-" + _text(exponent.of, _Level.ATOM)
    return _text(exponent, _Level.POWER)


def _number(value: Fraction) -> tuple[_Level, str]:
    size = abs(value)
    text = decimal_text(size)
    if text.startswith("about "):
        level, text = _Level.PRODUCT, f"{size.numerator} / {size.denominator}"
    else:
        level = _Level.ATOM
    return (min(level, _Level.SIGN), f"-{text}") if value < 0 else (level, text)
