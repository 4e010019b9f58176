"""What a knob's reading becomes: the code at each scaled reading, and how near a table has to come to it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import assert_never

from paramc.model.items import Flag, Item, Param, Selector, Trim, flat_of
from paramc.model.laws import HALF, Law, Straight, undone
from paramc.model.panel import Knob
from paramc.model.product import Product
from paramc.model.readings import codes_of_readings
from paramc.numbers import doubles
from paramc.numbers.arithmetic import NEARS, REALS
from paramc.numbers.real import ceil, floor, multiply
from paramc.tables.choose import Wanted
from paramc.tables.tunnel import Tunnel


def set_by_knobs(product: Product) -> Iterator[tuple[Item, tuple[tuple[Knob, ...], ...]]]:
    """Each item that knobs set, and these knobs, those that are read alike together; in reading order."""
    knobs = {knob.name: knob for knob in product.knobs}
    groups: dict[str, dict[tuple[int, int, Law], dict[str, Knob]]] = {}
    for mode in product.modes:
        for sets in mode.sets:
            knob = knobs.get(sets.control)
            if knob is not None:
                alike = groups.setdefault(sets.item, {}).setdefault((knob.adc_bits, knob.noise, knob.law), {})
                alike[knob.name] = knob
    for item in product.items:
        if item.name in groups:
            yield item, tuple(tuple(alike.values()) for alike in groups[item.name].values())


def codes_along(item: Item, knob: Knob) -> tuple[int, ...]:
    """The item's code for each scaled reading n of the knob, 0 to its top.

    A scale gives the code nearest to its value at the travel where the part gives n / top, through the flat.
    A selector or flag divides the travel into equal zones, a border belonging to the upper one.
    """
    match item:
        case Param() | Trim():
            return codes_of_readings(item.scale, knob.top, knob.law, flat_of(item))
        case Selector():
            return tuple(item.places[zone] for zone in _zones(len(item.places), knob))
        case Flag():
            return tuple(_zones(item.codes, knob))
        case other:
            assert_never(other)


def knob_wanted(item: Item, knob: Knob, codes: tuple[int, ...]) -> Wanted:
    """What the table from scaled readings to codes is to give. codes: as codes_along gives them.

    At each reading the code of the one before, its own or the code of the one behind, never another; at both
    ends, at noon and inside the flat its own. Where the codes of neighbours lie more than one apart, what is
    between them is another code. Speed is for engine values: a knob is read some hundred times a second.
    """
    lows, highs = list(codes), list(codes)
    for n, (one, other) in enumerate(pairwise(codes)):
        if other - one == 1:
            highs[n], lows[n + 1] = other, one
        elif one - other == 1:
            lows[n], highs[n + 1] = other, one
    for n in {0, knob.noon, knob.top, *flat_readings(item, knob)}:
        lows[n] = highs[n] = codes[n]
    return Wanted(Tunnel(tuple(lows), tuple(highs)), codes)


def flat_readings(item: Item, knob: Knob) -> range:
    """The scaled readings at which a knob points to where the item is flat."""
    flat = flat_of(item) if isinstance(item, Param | Trim) else Fraction(0)
    if flat == 0:
        return range(0)
    begin, end = (
        multiply(knob.share_at(HALF + side * flat / 2), Fraction(knob.top)) for side in (-1, 1)
    )
    return range(ceil(begin), floor(end) + 1)


def _zones(count: int, knob: Knob) -> Iterator[int]:
    """The zone at each scaled reading, of so many equal ones of the travel."""
    top, last = knob.top, count - 1
    if knob.law == Straight():
        yield from (min(n * count // top, last) for n in range(top + 1))
        return
    near, exact, times = undone(NEARS, knob.law), undone(REALS, knob.law), doubles.ratio(count, 1)
    for n in range(top + 1):
        zone = doubles.settled(doubles.multiply(near(doubles.ratio(n, top)), times), _floor)
        if zone is None:
            zone = floor(multiply(exact(Fraction(n, top)), Fraction(count)))
        yield min(zone, last)


def _floor(number: float) -> int:
    return int(number // 1)
