"""The engine values of all codes of an item at once.

The doubles of paramc.numbers settle almost every code, since they know how wrong they may be; where they
cannot tell, and only there, the number is worked out exactly. So the answers are those of `items`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cmp_to_key
from math import ceil, floor, inf, lcm
from typing import Final, TypeVar

from paramc.frozen import dataclass
from paramc.model.answers import NoAnswer, Why
from paramc.model.engine import Engine, proportion
from paramc.model.items import Item, Param, Trim, engine_numbers, is_tolerant
from paramc.model.scale import Stepped
from paramc.numbers import doubles, real
from paramc.numbers.arithmetic import NEARS, REALS, Arithmetic
from paramc.numbers.irrational import Irrational
from paramc.numbers.real import multiply

N = TypeVar("N")

MOST_UNSETTLED: Final = 1000
"""Codes of one item whose numbers doubles may know nothing of: as many are worked out digit by digit."""

_LOSES_DIGITS: Final = "The expression goes through numbers so large that nothing of its answer is left."


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
    where every code has one. An expression that loses its digits at more than MOST_UNSETTLED codes counts
    as one that has none, so that the work is bounded."""
    unsettled = 0
    try:
        near_numbers, exact_numbers = engine_numbers(NEARS, item), engine_numbers(REALS, item)
    except NoAnswer as nested_too_deep:
        return 0, nested_too_deep
    for code in range(item.codes):
        # What a double knows, is there.
        if not near_numbers(code)[2][1] < inf:
            try:
                unsettled += isinstance(exact_numbers(code)[2], Irrational)
            except NoAnswer as why:
                return code, why
            if unsettled > MOST_UNSETTLED:
                return code, NoAnswer(Why.TOO_LARGE, _LOSES_DIGITS)
    return None


def first_outside(item: Item, codes: Iterable[int]) -> int | None:
    """The first of these codes whose correctly rounded integer the format does not hold; None where all
    fit. Every code must have an answer. Numbers far outside are never worked out."""
    form, near_number, exact_number = _engine(item).format, _numbers(NEARS, item), _numbers(REALS, item)
    for code in codes:
        value, error = near_number(code)
        if form.minimum <= value - error and value + error <= form.maximum:
            continue
        surely = value - error > form.maximum + 1 or value + error < form.minimum - 1
        if surely or not form.holds_rounded(multiply(exact_number(code), Fraction(1, form.scale))):
            return code
    return None


def extremes(item: Item, codes: Sequence[int]) -> tuple[real.Real, real.Real]:
    """The lowest and the highest engine number of these codes, one or more, before it is rounded. Every
    code must have an answer."""
    near_number, exact_number = _numbers(NEARS, item), _numbers(REALS, item)
    spans = [(code, *near_number(code)) for code in codes]
    known = [(value, error) for _, value, error in spans if error < inf]
    least = min((value + error for value, error in known), default=inf)
    greatest = max((value - error for value, error in known), default=-inf)
    # What is not known is compared with nothing, and so is among both.
    low = (exact_number(code) for code, value, error in spans if not value - error > least)
    high = (exact_number(code) for code, value, error in spans if not value + error < greatest)
    return min(low, key=cmp_to_key(real.compare)), max(high, key=cmp_to_key(real.compare))


def _engine(item: Item) -> Engine:
    assert item.engine is not None
    return item.engine


def _numbers(of: Arithmetic[N], item: Item) -> Callable[[int], N]:
    """The number of each code alone."""
    numbers = engine_numbers(of, replace(item, engine=replace(_engine(item), tolerance=None)))
    return lambda code: numbers(code)[2]


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
    engine = _engine(item)
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
