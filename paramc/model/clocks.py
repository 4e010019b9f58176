"""Where a knob points, and where it has to point for a value."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.model.items import Param, Trim, is_off
from paramc.model.laws import HALF
from paramc.model.panel import CLOCK_DEGREES
from paramc.numbers.real import Real, add, compare, multiply, nearest

_NO_FLAT: Final = Fraction(0)


def clock_text(travel: Real, turn: Fraction = CLOCK_DEGREES) -> str:
    """Where a knob of a turn points at a share of its travel, to the nearest minute on its face: "2:30".
    Half a degree is a minute."""
    hours, minutes = divmod(nearest(multiply(add(travel, -HALF), 2 * turn)) % 720, 60)
    return f"{hours or 12}:{minutes:02}"


def turned_to(item: Param | Trim, code: int) -> Real:
    """The share of its own turn at which a knob gives the value of a code; 0 for off.

    Around noon the knob has to leave the stretch that is flat.
    """
    if is_off(item, code):
        return Fraction(0)
    return left_flat(_flat(item), item.scale.travel_of(item.scale.value(code)))


def left_flat(share: Fraction, travel: Real) -> Real:
    """The travel of a knob that counts as `travel` where a share of it about noon is flat; of those that
    count as noon the middle one. What undoes laws.past_flat."""
    side = compare(travel, HALF)
    if side == 0 or share == 0:
        return travel
    turned = multiply(travel, 1 - share)
    return turned if side < 0 else add(turned, share)


def _flat(item: Param | Trim) -> Fraction:
    return item.flat if isinstance(item, Param) else _NO_FLAT
