"""Whether a format can hold an item's engine values, and whether its integers are fine enough."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cmp_to_key
from typing import TypeAlias

from paramc.model.engine import AsStored, Decay, Engine, Gain, Phase, Pitch, Pole, Samples, WhereOne
from paramc.model.items import Item, Param, Trim, engine_exact, engine_legal
from paramc.model.tunnels import engine_tunnel, extremes, first_outside
from paramc.numbers.real import Real, compare, multiply, subtract
from paramc.numbers.units import Unit

_Growing: TypeAlias = WhereOne | Gain | Samples | Phase | Pitch
"""Conversions to a multiple of the value, or to its exponential."""

_OneWay: TypeAlias = AsStored | _Growing | Pole | Decay
"""Conversions that go one way with their value."""


def first_overflow(item: Item) -> int | None:
    """The first code whose correctly rounded engine value the format does not hold; None where all fit.

    Where values and numbers go one way, the codes leave the format once at most.
    """
    form = _engine(item).format
    codes = _converted(item)
    if not _goes_one_way(item):
        return first_outside(item, codes)

    def outside(code: int) -> bool:
        return not form.holds_rounded(_unscaled(item, code))

    if outside(codes[0]):
        return codes[0]
    if not outside(codes[-1]):
        return None
    return codes[bisect_left(codes, True, key=outside)]


def reach(item: Item) -> tuple[Real, Real]:
    """The lowest and highest engine value, before it is scaled and rounded."""
    codes = _converted(item)
    ends = codes[:: max(1, len(codes) - 1)] if _goes_one_way(item) else codes
    numbers = [multiply(number, Fraction(1, _engine(item).format.scale)) for number in extremes(item, ends)]
    if codes[0] > 0:
        numbers.append(Fraction(0))
    by_size = sorted(numbers, key=cmp_to_key(compare))
    return by_size[0], by_size[-1]


def without_integer(item: Item) -> Iterator[int]:
    """The codes for which no integer of the format keeps the tolerance, rising. None without a tolerance.

    Every code must fit the format.
    """
    engine = _engine(item)
    if engine.tolerance is None or isinstance(engine.conversion, AsStored):
        return
    lowest, highest = engine.format.minimum, engine.format.maximum
    if not _grows(item):
        tunnel = engine_tunnel(item)
        bounds = enumerate(zip(tunnel.lowest, tunnel.highest, strict=True))
        yield from (code for code, (low, high) in bounds if max(low, lowest) > min(high, highest))
        return

    def lacks(code: int) -> bool:
        legal = engine_legal(item, code)
        return max(legal.lowest, lowest) > min(legal.highest, highest)

    yield from (code for code in _in_doubt(item) if lacks(code))


def _engine(item: Item) -> Engine:
    assert item.engine is not None
    return item.engine


def _goes_one_way(item: Item) -> bool:
    """Whether engine values never turn back from one code to the next."""
    return isinstance(item, Param | Trim) and isinstance(_engine(item).conversion, _OneWay)


def _grows(item: Item) -> bool:
    """Whether engine values grow no slower at greater values, so that few codes have to be looked at."""
    engine = _engine(item)
    if not isinstance(item, Param | Trim) or not isinstance(engine.conversion, _Growing):
        return False
    # A share of a level says nothing of its ratio.
    relative = engine.tolerance is not None and engine.tolerance.relative
    return not (relative and isinstance(engine.conversion, Gain | Pitch))


def _converted(item: Item) -> range:
    """The codes that are converted: all but the one that means off, whose engine value is 0."""
    off = isinstance(item, Param | Trim) and item.scale.off_at_stop
    return range(1 if off else 0, item.codes)


def _unscaled(item: Item, code: int) -> Real:
    return multiply(engine_exact(item, code), Fraction(1, _engine(item).format.scale))


def _in_doubt(item: Item) -> Iterable[int]:
    """The codes that have to be looked at one by one, of an item that _grows.

    Where a value and the one a tolerance below it become numbers 1 or more apart, an integer lies
    between them. That holds from some value upwards, because these conversions grow no slower at
    greater values; so it is enough to find where it begins. With a relative tolerance it holds for v
    and v - tv, nearer to zero, from some size upwards; for gain that need not be so. The integer could
    lie outside the format only where v itself does, by less than one half, which is at the ends.
    """
    engine, codes = _engine(item), _converted(item)
    tolerance = engine.tolerance
    assert tolerance is not None
    assert isinstance(item, Param | Trim)
    scale, width = item.scale, tolerance.amount

    def sure(code: int) -> bool:
        value = scale.value(code)
        inner = multiply(value, 1 - width) if tolerance.relative else subtract(value, width)
        inside = compare(inner, scale.low) >= 0 and compare(inner, scale.high) <= 0
        return inside and _apart(engine, value, inner, scale.unit)

    rising = scale.last > scale.first
    if tolerance.relative:
        rising = abs(scale.last) > abs(scale.first)
    growing = codes if rising else codes[::-1]
    begins = bisect_left(growing, True, key=sure)
    doubtful = list(growing[:begins])
    for code in reversed(growing[begins:]):
        number = engine_exact(item, code)
        if compare(number, Fraction(engine.format.minimum)) >= 0:
            if compare(number, Fraction(engine.format.maximum)) <= 0:
                break
        doubtful.append(code)
    return sorted(doubtful)


def _apart(engine: Engine, value: Real, other: Real, unit: Unit) -> bool:
    """Whether two values become numbers at least 1 apart."""
    difference = subtract(engine.exact(value, unit), engine.exact(other, unit))
    return compare(difference, Fraction(1)) >= 0 or compare(difference, Fraction(-1)) <= 0
