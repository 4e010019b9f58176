"""How near a table comes to what it stands for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Final, TypeVar

from paramc.model.engine import AsStored
from paramc.model.items import Item, engine_numbers, is_in_use, is_off, is_tolerant
from paramc.numbers import doubles
from paramc.numbers.arithmetic import NEARS, REALS, Arithmetic
from paramc.numbers.doubles import Near
from paramc.numbers.real import Real, compare, multiply, nearest
from paramc.tables.forms import AnyTable, values_of

N = TypeVar("N")

_ZERO: Final = Fraction(0)
_PLACES: Final = 1000


def worst_code(codes: Sequence[int], table: AnyTable) -> tuple[Fraction, int]:
    """By how many codes the table's code differs at most from that of the very reading, and at which."""
    errors = [abs(value - code) for value, code in zip(values_of(table), codes, strict=True)]
    worst = max(errors)
    return Fraction(worst), errors.index(worst)


def worst_value(item: Item, table: AnyTable) -> tuple[Fraction, int]:
    """The greatest error of a table of engine values, as a share of what is allowed, to three places; and the
    first code that has it.

    Allowed is the way from the exact number to that of the tolerance on the error's side, or on the other
    where the range ends there; half an integer where there is no tolerance.
    """
    engine = item.engine
    assert engine is not None
    if isinstance(engine.conversion, AsStored):
        return _ZERO, 0
    values = values_of(table)
    near, exact = engine_numbers(NEARS, item), engine_numbers(REALS, item)
    worst, at = _ZERO, 0
    for code in range(item.codes):
        if is_in_use(item, code) and not is_off(item, code):
            tolerant = is_tolerant(item, code)
            share = _rounded(_share(NEARS, _below_nears, values[code], *near(code), tolerant))
            if share is None:
                real = _share(REALS, _below_reals, values[code], *exact(code), tolerant)
                share = Fraction(nearest(multiply(real, Fraction(_PLACES))), _PLACES)
            if share > worst:
                worst, at = share, code
    return worst, at


def _rounded(share: Near) -> Fraction | None:
    """To the last place; None where that is open."""
    whole = doubles.settled(doubles.multiply(share, (float(_PLACES), 0.0)), round)
    return None if whole is None else Fraction(whole, _PLACES)


def _share(
    of: Arithmetic[N],
    below: Callable[[N, N], bool],
    value: int,
    least: N,
    greatest: N,
    exact: N,
    tolerant: bool,
) -> N:
    """The error of a value as a share of what is allowed."""
    zero, half = of.ratio(0, 1), of.ratio(1, 2)
    error = of.add(of.ratio(value, 1), of.negate(exact))
    up, down = of.add(greatest, of.negate(exact)), of.add(exact, of.negate(least))
    sides = (up, down) if below(zero, error) else (down, up)
    allowed = next((side for side in sides if tolerant and below(zero, side)), half)
    return of.divide(of.absolute(error), allowed)


def _below_nears(a: Near, b: Near) -> bool:
    # Where it is open which is less, either answer will do: a share is then near zero or cannot be told.
    return doubles.below(a, b)


def _below_reals(a: Real, b: Real) -> bool:
    return compare(a, b) < 0
