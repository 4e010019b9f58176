"""The codes that a knob gives, worked out once for all rules that ask for them."""

from __future__ import annotations

from fractions import Fraction

from paramc.model.items import Scaled, flat_of
from paramc.model.laws import Law
from paramc.model.panel import Knob
from paramc.model.readings import codes_of_counts
from paramc.model.scale import Scale


class Dialled:
    """Keeps what was asked for: thousands of counts for each scale and knob. Half of the items of a product
    share a scale."""

    def __init__(self) -> None:
        self._codes: dict[tuple[Scale, int, Law, Fraction, int], tuple[int, ...]] = {}

    def codes(self, item: Scaled, knob: Knob) -> tuple[int, ...]:
        """The item's code at each ADC count of the knob, from its anticlockwise end to its clockwise one."""
        key = item.scale, knob.top, knob.law, flat_of(item), abs(knob.ends[1] - knob.ends[0])
        found = self._codes.get(key)
        if found is None:
            found = self._codes[key] = codes_of_counts(*key)
        return found
