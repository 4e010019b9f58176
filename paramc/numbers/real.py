"""Real numbers that are exact, or can be enclosed as tightly as wanted, and what is done with them.

A `Real` is a Fraction wherever that can be proved, and else an `Irrational`: a small tree. Floor, nearest and
comparison are settled by the double and its error bound where these suffice, and else by enclosures with more
and more digits, so no decision depends on the machine.

These can never tie with a fraction, so that their decisions always end:
- e to a fraction other than 0 and ln of a fraction other than 1 are transcendental (Lindemann, Weierstrass);
- a fraction to a fraction is rational only where the base is the perfect power that the root asks for, which
  is found in integers and gives a Fraction;
- a fraction above zero and other than 1 to an irrational algebraic number, and a quotient of logarithms of
  fractions that are not powers of one number, are transcendental (Gelfond, Schneider).
Of other mixtures equality is not decidable in general. Two numbers that LIMIT_DIGITS digits cannot tell apart
count as equal: exact ties that the tree hides, such as ln 6 - ln 2 - ln 3 against 0, come out right this way.
So do a power nearer to zero than 1e-400000000 and zero.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.numbers import doubles
from paramc.numbers.decisions import LIMIT_DIGITS, Unsettled, ceil, compare, floor, nearest, to_text
from paramc.numbers.irrational import (
    PI,
    Exp,
    Irrational,
    Linear,
    Ln,
    Power,
    Product,
    Real,
    Reciprocal,
    near_of,
)
from paramc.numbers.roots import perfect_power

__all__ = [
    "LIMIT_DIGITS",
    "PI",
    "Irrational",
    "Real",
    "Unsettled",
    "add",
    "ceil",
    "compare",
    "divide",
    "exp",
    "floor",
    "ln",
    "multiply",
    "nearest",
    "negate",
    "power",
    "subtract",
    "to_text",
]

WRITTEN_OUT_BITS: Final = 8192
"""A rational power is written out as a Fraction up to this size; a larger one stays a tree."""

_ZERO: Final = Fraction(0)
_ONE: Final = Fraction(1)
_Terms = tuple[tuple[Fraction, Irrational], ...]


def add(a: Real, b: Real) -> Real:
    if isinstance(a, Fraction) and isinstance(b, Fraction):
        return a + b
    offset, terms = _sum_of(a)
    other_offset, other_terms = _sum_of(b)
    for scale, number in other_terms:
        terms = _with_term(terms, scale, number)
    return _linear(offset + other_offset, terms)


def negate(a: Real) -> Real:
    return multiply(a, Fraction(-1))


def subtract(a: Real, b: Real) -> Real:
    return add(a, -b if isinstance(b, Fraction) else negate(b))


def multiply(a: Real, b: Real) -> Real:
    if isinstance(a, Fraction):
        return a * b if isinstance(b, Fraction) else _scaled(b, a)
    if isinstance(b, Fraction):
        return _scaled(a, b)
    scale, number = _content(a)
    other_scale, other = _content(b)
    product: Real = number
    for factor in other.factors if isinstance(other, Product) else (other,):
        product = _times(product, factor)
    return multiply(product, scale * other_scale)


def divide(a: Real, b: Real) -> Real:
    """ZeroDivisionError where b is zero or cannot be told from it."""
    if compare(b, _ZERO) == 0:
        raise ZeroDivisionError("division by zero")
    if isinstance(b, Fraction):
        return multiply(a, 1 / b)
    scale, number = _content(b)
    quotient = a
    for factor in number.factors if isinstance(number, Product) else (number,):
        quotient = multiply(quotient, _reciprocal(factor))
    return multiply(quotient, 1 / scale)


def power(base: Real, exponent: Real) -> Real:
    """base ** exponent. Anything to 0 is 1.

    ZeroDivisionError for zero to a negative exponent; ValueError for a negative base to an exponent that is
    not an integer, which is not real.
    """
    if isinstance(exponent, Fraction):
        if exponent.numerator == 0:
            return _ONE
        if isinstance(base, Fraction) and base.numerator > 0:
            return _fraction_power(base, exponent)
    sign = compare(base, _ZERO)
    if sign == 0:
        if compare(exponent, _ZERO) < 0:
            raise ZeroDivisionError("zero to a negative power")
        return _ZERO
    if sign < 0:
        if not isinstance(exponent, Fraction) or exponent.denominator != 1:
            raise ValueError("a negative number to a power that is not an integer is not real")
        size = power(negate(base), exponent)
        return size if exponent.numerator % 2 == 0 else negate(size)
    return exp(multiply(ln(base), exponent))


def exp(a: Real) -> Real:
    if isinstance(a, Fraction):
        return _ONE if a == 0 else Exp(doubles.exp(doubles.of_fraction(a)), a)
    offset, terms = _sum_of(a)
    result: Real = _ONE
    rest: _Terms = ()
    for scale, number in terms:
        if isinstance(number, Ln) and isinstance(number.of, Fraction):
            result = multiply(result, _fraction_power(number.of, scale))
        elif isinstance(number, Ln) and scale == 1:
            result = multiply(result, number.of)
        else:
            rest = (*rest, (scale, number))
    if not rest:
        return result if offset == 0 else multiply(result, exp(offset))
    left = _linear(offset, rest)
    return multiply(result, Exp(doubles.exp(near_of(left)), left))


def ln(a: Real) -> Real:
    """ValueError where a is not above zero."""
    if compare(a, _ZERO) <= 0:
        raise ValueError("the logarithm of a number that is not above zero is not real")
    if isinstance(a, Fraction):
        if a == 1:
            return _ZERO
        base, count = perfect_power(a)
        return _scaled(Ln(doubles.ln(doubles.of_fraction(base)), base), Fraction(count))
    scale, number = _content(a)
    if isinstance(number, Power):
        return add(multiply(ln(number.base), number.exponent), ln(scale))
    if isinstance(number, Exp):
        return add(number.of, ln(scale))
    return Ln(doubles.ln(a.near), a)


def _sum_of(a: Real) -> tuple[Fraction, _Terms]:
    if isinstance(a, Fraction):
        return a, ()
    if isinstance(a, Linear):
        return a.offset, a.terms
    return _ZERO, ((_ONE, a),)


def _with_term(terms: _Terms, scale: Fraction, number: Irrational) -> _Terms:
    for at, (there, same) in enumerate(terms):
        if same == number:
            together = there + scale
            return (*terms[:at], *([(together, number)] if together else []), *terms[at + 1 :])
    return (*terms, (scale, number))


def _linear(offset: Fraction, terms: _Terms) -> Real:
    if not terms:
        return offset
    scale, number = terms[0]
    alone = offset.numerator == 0
    if alone and len(terms) == 1 and scale == _ONE:
        return number
    near = doubles.multiply(doubles.of_fraction(scale), number.near)
    for scale, number in terms[1:]:
        near = doubles.add(near, doubles.multiply(doubles.of_fraction(scale), number.near))
    if not alone:
        near = doubles.add(near, doubles.of_fraction(offset))
    return Linear(near, offset, terms)


def _scaled(a: Irrational, by: Fraction) -> Real:
    if by.numerator == 0:
        return _ZERO
    if not isinstance(a, Linear):
        return _linear(_ZERO, ((by, a),))
    return _linear(a.offset * by, tuple((scale * by, number) for scale, number in a.terms))


def _content(a: Irrational) -> tuple[Fraction, Irrational]:
    """a as scale * number, such that proportional numbers have the same number."""
    if not isinstance(a, Linear):
        return _ONE, a
    scale = a.terms[0][0]
    number = _scaled(a, 1 / scale)
    assert isinstance(number, Irrational)
    return scale, number


def _times(product: Real, factor: Irrational) -> Real:
    """One factor more; factors that go together become one or vanish."""
    if isinstance(product, Fraction):
        return _scaled(factor, product)
    factors = product.factors if isinstance(product, Product) else (product,)
    for at, there in enumerate(factors):
        together = _together(there, factor)
        if together is not None:
            rest = factors[:at] + factors[at + 1 :]
            return multiply(_product(rest), together) if rest else together
    return _product((*factors, factor))


def _product(factors: tuple[Irrational, ...]) -> Irrational:
    if len(factors) == 1:
        return factors[0]
    near = factors[0].near
    for factor in factors[1:]:
        near = doubles.multiply(near, factor.near)
    return Product(near, factors)


def _together(a: Irrational, b: Irrational) -> Real | None:
    match a, b:
        case Power(base=base), Power(base=other) if base == other:
            return power(base, a.exponent + b.exponent)
        case Power(exponent=exponent), Power(exponent=other) if exponent == other:
            return power(a.base * b.base, exponent)
        case Exp(), Exp():
            return exp(add(a.of, b.of))
        case (Reciprocal(of=of), other) | (other, Reciprocal(of=of)) if of == other:
            return _ONE
    return None


def _reciprocal(a: Irrational) -> Irrational:
    """Of a number that is not zero and has no scale."""
    match a:
        case Power():
            return Power(doubles.power(a.base, -a.exponent), a.base, -a.exponent)
        case Exp():
            of = negate(a.of)
            return Exp(doubles.exp(near_of(of)), of)
        case Reciprocal():
            return a.of
    return Reciprocal(doubles.reciprocal(a.near), a)


def _fraction_power(base: Fraction, exponent: Fraction) -> Real:
    if base == _ONE:
        return _ONE
    root, count = perfect_power(base)
    times = exponent if count == 1 else exponent * count
    if times.denominator == 1:
        bits = max(root.numerator.bit_length(), root.denominator.bit_length())
        if bits * abs(times.numerator) <= WRITTEN_OUT_BITS:
            return root**times.numerator
    return Power(doubles.power(root, times), root, times)
