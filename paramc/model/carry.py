"""A code of one revision as a code of another: what it meant there, and the nearest that means it here."""

from __future__ import annotations

from enum import Enum

from paramc.frozen import dataclass
from paramc.model.items import Flag, Item, Param, Scaled, Selector, Trim, is_off
from paramc.numbers.real import Real, compare, multiply


class Fit(Enum):
    """How well a code means what another did."""

    SAME = "same"  # the very value, way or state
    NEAREST = "nearest"  # the nearest value, or the way that took the other's part
    LOST = "lost"  # a value outside the range, or a way that is not there; the code is what comes next


@dataclass(frozen=True, slots=True)
class Carried:
    """The code that stands for another item's code, and how well."""

    code: int
    fit: Fit


def carried(was: Item, item: Item, code: int) -> Carried | None:
    """What a code in use of one item is in another that is the same thing in another revision, whichever
    of the two is the later one. None where they are of two kinds or measure different things.

    Values are compared exactly, and the nearest one is taken as everywhere: in value on steps, in travel
    where coded, ties to the even code. Ways are known by their names and places.
    """
    if isinstance(was, Selector) and isinstance(item, Selector):
        return _way(was, item, code)
    if isinstance(was, Flag) and isinstance(item, Flag):
        return Carried(code, Fit.SAME)
    if isinstance(was, Param | Trim) and isinstance(item, Param | Trim) and type(was) is type(item):
        return _scaled(was, item, code)
    return None


def _scaled(was: Scaled, item: Scaled, code: int) -> Carried | None:
    old, new = was.scale, item.scale
    if old == new:
        return Carried(code, Fit.SAME)
    if old.unit.dimension is not new.unit.dimension:
        return None
    ratio = old.unit.factor / new.unit.factor
    if is_off(was, code):
        if new.off_at_stop:
            return Carried(0, Fit.SAME)
        return Carried(_end(item, old.first * ratio) or 0, Fit.LOST)
    value = multiply(old.value(code), ratio)
    end = _end(item, value)
    if end is not None:
        return Carried(end, Fit.LOST)
    nearest = new.nearest_code(value)
    return Carried(nearest, Fit.SAME if compare(new.value(nearest), value) == 0 else Fit.NEAREST)


def _end(item: Scaled, value: Real) -> int | None:
    """The code at the end that a value lies beyond; None where it lies inside the range.

    The end that means off is no value, so it is beyond, and what is nearest to it is one step away.
    """
    scale = item.scale
    first = 1 if scale.off_at_stop else 0
    rises = 1 if scale.last > scale.first else -1
    from_first = compare(value, scale.first) * rises
    if from_first < 0 or (from_first == 0 and scale.off_at_stop):
        return first
    return scale.codes - 1 if compare(value, scale.last) * rises > 0 else None


def _way(was: Selector, item: Selector, code: int) -> Carried:
    """By name; where that is not there by what says that it had the name, either way round."""
    old = was.way(code)
    for at, way in zip(item.places, item.ways, strict=True):
        if way.name == old.name:
            return Carried(at, Fit.SAME)
    heirs = [
        at
        for at, way in zip(item.places, item.ways, strict=True)
        if old.name in way.was or way.name in old.was
    ]
    if not heirs:
        return Carried(item.default, Fit.LOST)
    # A way that was only renamed kept its place.
    return Carried(code, Fit.SAME) if code in heirs else Carried(heirs[0], Fit.NEAREST)
