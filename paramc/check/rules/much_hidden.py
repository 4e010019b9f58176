"""More hidden settings, or gestures at power up, than anybody keeps in mind."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import DOORBELL
from paramc.model.items import Trim
from paramc.model.modes import Hold
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

MOST_ITEMS, MOST_GESTURES = 8, 2

_MANY = "".join(f'flag more_{at} "More {at}" {{ default off  kept once }}\n' for at in range(MOST_ITEMS + 1))

RULE = Rule(
    "much-hidden",
    Severity.MEND,
    "What is hidden has to be remembered, as no panel shows it. More than 8 hidden settings, or more than 2"
    " gestures at power up, and the pedal needs a manual.",
    DOORBELL + _MANY,
    DOORBELL + _MANY.partition("\n")[2],
)


def check(product: Product) -> Iterator[Diagnostic]:
    hidden = [item for item in product.items if not isinstance(item, Trim) and product.is_hidden(item.name)]
    if len(hidden) > MOST_ITEMS:
        sentence = f"The product has {len(hidden)} hidden settings, more than {MOST_ITEMS}."
        yield Diagnostic(RULE, sentence, hidden[MOST_ITEMS].place)
    starts = [
        gesture
        for mode in product.modes
        for gesture in (mode.enter, *(does.gesture for does in mode.does))
        if isinstance(gesture, Hold) and gesture.at_power_up
    ]
    if len(starts) > MOST_GESTURES:
        sentence = f"The product has {len(starts)} gestures at power up, more than {MOST_GESTURES}."
        yield Diagnostic(RULE, sentence, starts[MOST_GESTURES].place)
