"""Where a knob points for a value."""

from __future__ import annotations

from fractions import Fraction

from paramc.image.codes import knob_turn
from paramc.model.items import Item, Param, is_off
from paramc.model.product import Product
from paramc.model.scale import HALF
from paramc.numbers.real import Real, add, compare, multiply, nearest


def clock(product: Product, item: Item, code: int) -> str | None:
    """The clock position at which the first knob that sets a param gives a code's value, to the nearest
    minute on its face: "2:30". None where no knob does, and of anything that is no param."""
    turn = knob_turn(product, item.name)
    if turn is None or not isinstance(item, Param):
        return None
    travel = Fraction(0) if is_off(item, code) else item.scale.travel_of(item.scale.value(code))
    # Half a degree is a minute.
    minutes = nearest(multiply(add(_turned(item, travel), -HALF), 2 * turn))
    hours, rest = divmod(minutes % 720, 60)
    return f"{hours or 12}:{rest:02}"


def _turned(item: Param, travel: Real) -> Real:
    """The share of the knob's own turn: around noon it has to leave the stretch that is flat."""
    side = compare(travel, HALF)
    if side == 0 or item.flat == 0:
        return travel
    turned = multiply(travel, 1 - item.flat)
    return turned if side < 0 else add(turned, item.flat)
