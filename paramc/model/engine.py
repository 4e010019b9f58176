"""The integer that the firmware wants for a code: conversions, rounding, and what is near enough."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Final, TypeAlias, TypeVar, assert_never

from paramc.frozen import dataclass
from paramc.model.answers import NoAnswer, Why, made_ready
from paramc.model.expression import VALUE, Expression
from paramc.numbers.arithmetic import REALS, Arithmetic
from paramc.numbers.formats import Format
from paramc.numbers.real import PI, Real, multiply, nearest
from paramc.numbers.units import Unit

N = TypeVar("N")

_ONE: Final = Fraction(1)


@dataclass(frozen=True, slots=True)
class AsStored:
    """The code itself."""


@dataclass(frozen=True, slots=True)
class WhereOne:
    """value / one; one is in the item's unit (a level's in dB, counted from 0 dBu or 0 dBV)."""

    one: Fraction


@dataclass(frozen=True, slots=True)
class Gain:
    """A level difference in dB to an amplitude ratio: 10^(dB / 20)."""


@dataclass(frozen=True, slots=True)
class Samples:
    """A time to samples at a rate in Hz."""

    rate: Fraction


@dataclass(frozen=True, slots=True)
class Phase:
    """A frequency below half the rate (Hz) to the phase step 2^w f / rate of the format's width w."""

    rate: Fraction


@dataclass(frozen=True, slots=True)
class Pole:
    """A frequency f to the coefficient of a one-pole filter at a rate F in Hz: 1 - exp(-2 pi f / F)."""

    rate: Fraction


@dataclass(frozen=True, slots=True)
class Pitch:
    """A pitch to a frequency ratio: 2 to the octaves."""


@dataclass(frozen=True, slots=True)
class Decay:
    """A time T to fall by 60 dB, not zero, to the factor of one step at a rate F in Hz: 10^(-3 / (T F))."""

    rate: Fraction


@dataclass(frozen=True, slots=True)
class ByExpression:
    """What an expression makes of the item's number, which it calls `value`."""

    expression: Expression


Conversion: TypeAlias = AsStored | WhereOne | Gain | Samples | Phase | Pole | Pitch | Decay | ByExpression


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far the sound may be off, counted in the item's own value.

    amount: in the item's unit, or a share of the value (0.01 for 1 %) where relative.
    """

    amount: Fraction
    relative: bool = False


@dataclass(frozen=True, slots=True)
class Engine:
    """Format, conversion and tolerance of an item's engine value."""

    format: Format
    conversion: Conversion
    tolerance: Tolerance | None = None
    or_nearest: bool = False

    def exact(self, value: Real, unit: Unit | None) -> Real:
        """The unrounded number for a value in a unit, scaled by the format's fraction bits.

        Not for AsStored, which looks at no value. Only an expression does without a unit. NoAnswer where
        an expression has none, and for a decay in no time.
        """
        return converter(REALS, self, unit)(value)

    def rounded(self, value: Real, unit: Unit | None) -> int:
        """The nearest integer, ties to even; it may lie outside the format."""
        return nearest(self.exact(value, unit))


def converter(of: Arithmetic[N], engine: Engine, unit: Unit | None) -> Callable[[N], N]:
    """Engine.exact in any arithmetic, made ready to be asked often."""
    factor = proportion(engine, unit)
    if factor is not None:
        return _times(of, factor)
    converted = _curve(of, engine.conversion, _ONE if unit is None else unit.factor)
    if engine.format.scale == 1:
        return converted
    scale, multiply = of.ratio(engine.format.scale, 1), of.multiply
    return lambda value: multiply(converted(value), scale)


def proportion(engine: Engine, unit: Unit | None) -> Fraction | None:
    """What a value is multiplied by, where that is all that the conversion does; else None."""
    scale, factor = engine.format.scale, _ONE if unit is None else unit.factor
    match engine.conversion:
        case WhereOne(one):
            return scale / one
        case Samples(rate):
            return scale * factor * rate
        case Phase(rate):
            return scale * factor * (1 << engine.format.bits) / rate
        case _:
            return None


def _curve(of: Arithmetic[N], conversion: Conversion, factor: Fraction) -> Callable[[N], N]:
    """A conversion that is no proportion; factor takes a value to its base unit."""
    match conversion:
        case Gain():
            return _to_the_power(of, Fraction(10), Fraction(1, 20))
        case Pole(rate):
            return _pole(of, multiply(PI, -2 * factor / rate))
        case Pitch():
            return _to_the_power(of, Fraction(2), factor / 1200)
        case Decay(rate):
            return _decaying(of, 1 / (factor * rate))
        case ByExpression(expression):
            work = made_ready(of, expression)
            return lambda value: work({VALUE: value})
        case AsStored() | WhereOne() | Samples() | Phase():
            raise ValueError("a stored code is not converted, and a proportion is no curve")
        case other:
            assert_never(other)


def _times(of: Arithmetic[N], factor: Fraction) -> Callable[[N], N]:
    times, multiply = of.of(factor), of.multiply
    return lambda value: multiply(value, times)


def _to_the_power(of: Arithmetic[N], base: Fraction, share: Fraction) -> Callable[[N], N]:
    """base to a share of the value."""
    number, times, multiply, power = of.of(base), of.of(share), of.multiply, of.power
    return lambda value: power(number, multiply(value, times))


def _pole(of: Arithmetic[N], falls: Real) -> Callable[[N], N]:
    whole, angle = of.of(_ONE), of.of(falls)
    return lambda frequency: of.add(whole, of.negate(of.exp(of.multiply(angle, frequency))))


def _decaying(of: Arithmetic[N], step: Fraction) -> Callable[[N], N]:
    """10 to -3 steps in the value."""
    ten, steps = of.of(Fraction(10)), of.of(-3 * step)

    def decaying(time: N) -> N:
        try:
            share = of.divide(steps, time)
        except ZeroDivisionError:
            raise NoAnswer(Why.BY_ZERO, "A decay in no time has no factor.") from None
        return of.power(ten, share)

    return decaying


@dataclass(frozen=True, slots=True)
class Legal:
    """The integers that are good for one code: lowest to highest (none where highest is less)."""

    lowest: int
    highest: int

    @property
    def none(self) -> bool:
        """Whether no integer is good."""
        return self.highest < self.lowest

    def nearest_to(self, number: int) -> int:
        """The good integer nearest to a number; the number itself where none is good."""
        return number if self.none else min(max(number, self.lowest), self.highest)
