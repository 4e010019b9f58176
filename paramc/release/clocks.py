"""Where a knob points for a value."""

from __future__ import annotations

from paramc.image.codes import knob_turn
from paramc.model.clocks import clock_text, turned_to
from paramc.model.items import Item, Param
from paramc.model.product import Product


def clock(product: Product, item: Item, code: int) -> str | None:
    """The clock position at which the first knob that sets a param gives a code's value, to the nearest
    minute on its face: "2:30". None where no knob does, and of anything that is no param."""
    turn = knob_turn(product, item.name)
    if turn is None or not isinstance(item, Param):
        return None
    return clock_text(turned_to(item, code), turn)
