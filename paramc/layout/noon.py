"""What knobs at noon give: the code of the reading that counts as noon, through tables and flats."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import assert_never

from paramc.layout.layout import KnobTable
from paramc.model.items import Flag, Item, Param, Selector, Trim, flat_of
from paramc.model.laws import travel_of_reading
from paramc.model.panel import Knob
from paramc.model.product import Product
from paramc.model.readings import code_of_reading
from paramc.numbers.real import floor, multiply
from paramc.tables.forms import value_at as table_value


def noon_codes(product: Product, knobs: Sequence[KnobTable], item: Item) -> tuple[int, ...]:
    """The codes that an item can have with every knob of the open modes at 12:00: one for each such knob that
    sets it, or its default where none does. knobs: the tables, through which they go where there are any."""
    controls = {knob.name: knob for knob in product.knobs}
    set_by = [controls.get(sets.control) for mode, sets in product.setters(item.name) if mode.open]
    codes = {_code(item, knob, knobs) for knob in set_by if knob is not None}
    return tuple(sorted(codes)) or (item.default,)


def _code(item: Item, knob: Knob, knobs: Sequence[KnobTable]) -> int:
    n = knob.noon
    for table in knobs:
        if table.item == item.name and knob.name in table.controls:
            return table_value(table.table, n)
    match item:
        case Param() | Trim():
            return code_of_reading(item.scale, Fraction(n, knob.top), knob.law, flat_of(item))
        case Selector():
            return item.places[_zone(n, knob, len(item.ways))]
        case Flag():
            return _zone(n, knob, item.codes)
        case other:
            assert_never(other)


def _zone(n: int, knob: Knob, zones: int) -> int:
    travel = travel_of_reading(knob.law, Fraction(n, knob.top))
    return min(floor(multiply(travel, Fraction(zones))), zones - 1)
