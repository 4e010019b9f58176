"""The codes that a knob gives, worked out once for all rules that ask for them."""

from __future__ import annotations

from paramc.model.items import Scaled
from paramc.model.laws import Law
from paramc.model.panel import Knob
from paramc.model.readings import codes_of_counts


class Dialled:
    """Keeps what was asked for: thousands of counts for each item and knob."""

    def __init__(self) -> None:
        self._codes: dict[tuple[str, int, tuple[int, int], Law], tuple[int, ...]] = {}

    def codes(self, item: Scaled, knob: Knob) -> tuple[int, ...]:
        """The item's code at each ADC count of the knob, from its anticlockwise end to its clockwise one."""
        key = item.name, knob.adc_bits, knob.ends, knob.law
        found = self._codes.get(key)
        if found is None:
            found = self._codes[key] = codes_of_counts(item, knob)
        return found
