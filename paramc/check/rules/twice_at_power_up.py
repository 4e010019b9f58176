"""A gesture at power up asks for a second one that cannot come."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.gestures import gesture_text
from paramc.check.words import capital
from paramc.model.modes import Hold
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_MODE = "mode start {{ hold PUSH at power up for 3 s does {} }}"

RULE = Rule(
    "twice-at-power-up",
    Severity.STOP,
    "A unit is switched on once. A gesture at power up that asks for itself a second time would be"
    " forgotten with the supply, so its deed would never be done. Let it enter a mode, and the mode have"
    " the deed.",
    followed_by(_MODE.format("reset look twice")),
    followed_by(_MODE.format("next preset")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for does in mode.does:
            if does.twice and isinstance(does.gesture, Hold) and does.gesture.at_power_up:
                sentence = f"{capital(gesture_text(does.gesture))} asks a second time, which cannot come."
                yield Diagnostic(RULE, sentence, does.place, subject=f"mode {mode.name}")
