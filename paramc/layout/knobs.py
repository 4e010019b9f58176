"""What a knob's reading becomes: the table from a scaled reading to a code."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import assert_never

from paramc.layout.layout import KnobTable
from paramc.model.items import Flag, Item, Param, Selector, Trim
from paramc.model.panel import Knob
from paramc.model.product import Product
from paramc.model.scale import Coded, Geometric, Law, Points, Scale, SCurve, Straight, ThreePoint
from paramc.numbers import doubles
from paramc.numbers.real import nearest
from paramc.tables.fit import fit


def knob_tables(product: Product) -> tuple[KnobTable, ...]:
    """One for each item that knobs set, and one more for each further knob that is read otherwise."""
    return tuple(
        KnobTable(
            name=f"{item.name}_by_{knobs[0].name}" if at else item.name,
            item=item.name,
            controls=tuple(knob.name for knob in knobs),
            adc_bits=knobs[0].adc_bits,
            hysteresis=knobs[0].noise + 1,
            table=fit(codes_along(item, knobs[0])),
        )
        for item, groups in set_by_knobs(product)
        for at, knobs in enumerate(groups)
    )


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

    A scale gives the code nearest to its value at travel n / top, for every n: at both ends and at
    noon nothing else will do, and a table that is exact everywhere never turns back. A selector or
    flag divides the travel into equal zones, a border belonging to the upper one.
    """
    # Parts that are not linear stop a product before it gets here.
    assert knob.law == Straight()
    top = knob.top
    match item:
        case Param() | Trim():
            return tuple(_along(item.scale, top))
        case Selector() | Flag():
            zones = item.places if isinstance(item, Selector) else range(item.codes)
            last = len(zones) - 1
            return tuple(zones[min(n * len(zones) // top, last)] for n in range(top + 1))
        case other:
            assert_never(other)


def _along(scale: Scale, top: int) -> list[int]:
    """scale.code_at(n / top) for n from 0 to top, in a fiftieth of the time.

    The steps from the first end are factor * base^(n * exponent / top) - factor. A double that knows
    its error settles all but the few that lie close to half a step; those are worked out exactly.
    """
    curve = _curve(scale)
    if curve is None:
        last = scale.codes - 1
        return [nearest(Fraction(n * last, top)) for n in range(top + 1)]
    factor, base, exponent = curve
    near, offset = doubles.of_fraction(factor), doubles.of_fraction(-factor)
    codes = []
    for n in range(top + 1):
        power = doubles.power(base, Fraction(n * exponent, top))
        steps, error = doubles.add(doubles.multiply(near, power), offset)
        settled = error < 0.25 and round(steps - error) == round(steps + error)
        codes.append(round(steps) if settled else scale.code_at(Fraction(n, top)))
    return codes


def _curve(scale: Scale) -> tuple[Fraction, Fraction, int] | None:
    """Factor, base and exponent of the steps over travel; None where codes and travel go together."""
    if isinstance(scale.grid, Coded):
        return None
    match scale.law:
        case Straight():
            return None
        case Geometric():
            return scale.first / scale.signed_step, scale.last / scale.first, 1
        case ThreePoint(noon):
            r = (scale.last - noon) / (noon - scale.first)
            if r == 1:
                return None
            return (scale.last - scale.first) / (r * r - 1) / scale.signed_step, r, 2
        case SCurve() | Points():
            raise ValueError("check stops a product with such a taper")
        case other:
            assert_never(other)
