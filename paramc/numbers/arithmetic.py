"""One formula, two ways to work it out: in exact real numbers, or in doubles that know their error.

What is written once against an `Arithmetic` has one meaning. The doubles are the fast road for whole tables;
where they cannot tell, the exact road is asked.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Final, Generic, TypeVar

from paramc.frozen import dataclass
from paramc.numbers import circular, cubic, doubles, functions, real
from paramc.numbers.cubic import Cubics
from paramc.numbers.doubles import Near
from paramc.numbers.irrational import Real, near_of

N = TypeVar("N")


@dataclass(frozen=True, slots=True)
class Arithmetic(Generic[N]):
    """Numbers of a kind N and what is done with them; angles in radians.

    of: a real number; ratio: the quotient of two integers. whole_power: to an integer. cubic and its inverse:
    a function in cubic pieces, made ready once and then asked often.
    Where there is no answer, real numbers raise ZeroDivisionError, ValueError (not real) or Unsettled;
    doubles say that they know nothing.
    """

    of: Callable[[Real], N]
    ratio: Callable[[int, int], N]
    add: Callable[[N, N], N]
    negate: Callable[[N], N]
    multiply: Callable[[N, N], N]
    divide: Callable[[N, N], N]
    power: Callable[[N, N], N]
    whole_power: Callable[[N, int], N]
    sqrt: Callable[[N], N]
    exp: Callable[[N], N]
    ln: Callable[[N], N]
    lg: Callable[[N], N]
    sin: Callable[[N], N]
    cos: Callable[[N], N]
    tan: Callable[[N], N]
    absolute: Callable[[N], N]
    minimum: Callable[[N, N], N]
    maximum: Callable[[N, N], N]
    cubic: Callable[[Cubics], Callable[[N], N]]
    cubic_inverse: Callable[[Cubics], Callable[[N], N]]


def _itself(number: Real) -> Real:
    return number


REALS: Final[Arithmetic[Real]] = Arithmetic(
    of=_itself,
    ratio=Fraction,
    add=real.add,
    negate=real.negate,
    multiply=real.multiply,
    divide=real.divide,
    power=real.power,
    whole_power=lambda a, times: real.power(a, Fraction(times)),
    sqrt=functions.sqrt,
    exp=real.exp,
    ln=real.ln,
    lg=functions.lg,
    sin=circular.sin,
    cos=circular.cos,
    tan=circular.tan,
    absolute=functions.absolute,
    minimum=functions.minimum,
    maximum=functions.maximum,
    cubic=lambda cubics: cubics.value,
    cubic_inverse=cubic.arguments,
)

NEARS: Final[Arithmetic[Near]] = Arithmetic(
    of=near_of,
    ratio=doubles.ratio,
    add=doubles.add,
    negate=doubles.negate,
    multiply=doubles.multiply,
    divide=doubles.divide,
    power=doubles.raised,
    whole_power=doubles.whole_power,
    sqrt=doubles.sqrt,
    exp=doubles.exp,
    ln=doubles.ln,
    lg=doubles.lg,
    sin=doubles.sin,
    cos=doubles.cos,
    tan=doubles.tan,
    absolute=doubles.absolute,
    minimum=doubles.minimum,
    maximum=doubles.maximum,
    cubic=cubic.near_values,
    cubic_inverse=cubic.near_arguments,
)
