"""One formula in two arithmetics: the doubles never contradict the exact numbers, nor claim what is not."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import isfinite
from typing import TypeVar

from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.arithmetic import NEARS, REALS, Arithmetic
from paramc.numbers.cubic import Cubics
from paramc.numbers.doubles import Near
from paramc.numbers.irrational import PI
from paramc.numbers.real import Real, compare

N = TypeVar("N")
F = Fraction

PIECES = Cubics((F(0), F(1), F(3)), ((F(0), F(1), F(0), F(0)), (F(1), F(1), F(1, 4), F(0))))


def _formulas(of: Arithmetic[N]) -> dict[str, Callable[[N, N], N]]:
    half = of.ratio(1, 2)
    cubic, undone = of.cubic(PIECES), of.cubic_inverse(PIECES)
    return {
        "sum": of.add,
        "difference": lambda a, b: of.add(a, of.negate(b)),
        "product": of.multiply,
        "quotient": of.divide,
        "power": lambda a, b: of.power(of.absolute(a), b),
        "square": lambda a, b: of.whole_power(a, 2),
        "tenth": lambda a, b: of.whole_power(a, -10),
        "root": lambda a, b: of.sqrt(of.add(a, b)),
        "exp": lambda a, b: of.exp(a),
        "ln": lambda a, b: of.ln(of.multiply(a, b)),
        "lg": lambda a, b: of.lg(a),
        "sin": lambda a, b: of.sin(of.multiply(a, b)),
        "cos": lambda a, b: of.cos(of.multiply(of.of(PI), a)),
        "tan": lambda a, b: of.tan(a),
        "middle": lambda a, b: of.maximum(of.minimum(a, b), half),
        "cubic": lambda a, b: cubic(of.minimum(of.absolute(a), of.ratio(3, 1))),
        "cubic undone": lambda a, b: undone(of.minimum(of.absolute(a), of.ratio(3, 1))),
    }


EXACT, NEAR = _formulas(REALS), _formulas(NEARS)
NUMBERS = st.one_of(st.integers(-12, 12).map(F), st.fractions(-9, 9, max_denominator=500))


@settings(deadline=None, max_examples=150)
@given(NUMBERS, NUMBERS, st.sampled_from(sorted(EXACT)))
def test_doubles_agree_with_exact_numbers(a: Fraction, b: Fraction, name: str) -> None:
    value, error = _near(name, a, b)
    try:
        exact: Real = EXACT[name](a, b)
    except (ZeroDivisionError, ValueError):
        assert not isfinite(error), "where there is no answer, no double claims one"
        return
    if isfinite(error):
        assert compare(exact, F(value) - F(error)) >= 0 >= compare(exact, F(value) + F(error))


def _near(name: str, a: Fraction, b: Fraction) -> Near:
    return NEAR[name](NEARS.of(a), NEARS.of(b))


def test_doubles_do_know_most() -> None:
    for name in EXACT:
        _, error = _near(name, F(17, 10), F(1, 3))
        assert error < 1e-9, name
