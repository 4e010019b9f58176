"""The engine values of all codes of an item at once.

The doubles of paramc.numbers settle almost every code, since they know how wrong they may be; where they
cannot tell, and only there, the number is worked out exactly. So the answers are those of `items`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, inf, lcm

from paramc.model.answers import NoAnswer
from paramc.model.engine import proportion
from paramc.model.items import Item, Param, Trim, engine_numbers, is_tolerant
from paramc.model.scale import Stepped
from paramc.numbers import doubles, real
from paramc.numbers.arithmetic import NEARS, REALS


@dataclass(frozen=True, slots=True)
class EngineTunnel:
    """For every code the good integers, lowest to highest (none where highest is less), and the
    correctly rounded one; formats aside. As engine_legal and engine_rounded give them."""

    lowest: tuple[int, ...]
    highest: tuple[int, ...]
    rounded: tuple[int, ...]


def engine_tunnel(item: Item) -> EngineTunnel:
    """The tunnel of an item with an engine. NoAnswer where the conversion has none for some code;
    first_without_answer says for which."""
    return _in_equal_steps(item) or _one_by_one(item)


def first_without_answer(item: Item) -> tuple[int, NoAnswer] | None:
    """The first code for whose value the conversion of the item's engine has no answer, and why; None
    where every code has one."""
    try:
        near_numbers, exact_numbers = engine_numbers(NEARS, item), engine_numbers(REALS, item)
    except NoAnswer as nested_too_deep:
        return 0, nested_too_deep
    for code in range(item.codes):
        # What a double knows, is there.
        if not near_numbers(code)[2][1] < inf:
            try:
                exact_numbers(code)
            except NoAnswer as why:
                return code, why
    return None


def _one_by_one(item: Item) -> EngineTunnel:
    near_numbers, exact_numbers = engine_numbers(NEARS, item), engine_numbers(REALS, item)
    lowest, highest, rounded = [], [], []
    for code in range(item.codes):
        tolerant = is_tolerant(item, code)
        least, greatest, number = near_numbers(code)
        at = doubles.settled(number, round)
        low, high = (doubles.settled(least, ceil), doubles.settled(greatest, floor)) if tolerant else (at, at)
        if at is None or low is None or high is None:
            exact_least, exact_greatest, exact = exact_numbers(code)
            at = real.nearest(exact)
            low, high = (real.ceil(exact_least), real.floor(exact_greatest)) if tolerant else (at, at)
        lowest.append(low)
        highest.append(high)
        rounded.append(at)
    return EngineTunnel(tuple(lowest), tuple(highest), tuple(rounded))


def _in_equal_steps(item: Item) -> EngineTunnel | None:
    """In integers alone, where values come in equal steps and are converted in proportion; else None.

    There the ends of a tolerance often are whole numbers, of which doubles can never be sure.
    """
    engine = item.engine
    assert engine is not None
    if not isinstance(item, Param | Trim) or not isinstance(item.scale.grid, Stepped):
        return None
    scale, factor, tolerance = item.scale, proportion(engine, item.scale.unit), engine.tolerance
    if factor is None or (tolerance is not None and tolerance.relative):
        return None
    width = Fraction(0) if tolerance is None else tolerance.amount
    parts = [factor * part for part in (scale.first, scale.signed_step, scale.first, scale.last)]
    parts.append(abs(factor) * width)
    unit = lcm(*(part.denominator for part in parts))
    first, step, *ends, width_units = (int(part * unit) for part in parts)
    least, greatest = min(ends), max(ends)
    numbers = range(first, first + item.codes * step, step)
    rounded = [_nearest(number, unit) for number in numbers]
    if tolerance is None:
        lowest = highest = rounded
    else:
        lowest = [-(min(width_units - number, -least) // unit) for number in numbers]
        highest = [min(number + width_units, greatest) // unit for number in numbers]
    if scale.off_at_stop:
        lowest[0] = highest[0] = rounded[0] = 0
    return EngineTunnel(tuple(lowest), tuple(highest), tuple(rounded))


def _nearest(above: int, below: int) -> int:
    """The integer nearest to above / below, a tie to the even one."""
    whole, rest = divmod(2 * above + below, 2 * below)
    return whole - 1 if rest == 0 and whole % 2 else whole
