"""Bypass waits for the end of a hold."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import DOORBELL, changed
from paramc.check.words import called
from paramc.model.modes import Bypass, Hold
from paramc.model.product import Product
from paramc.numbers.quantity import decimal_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

RULE = Rule(
    "bypass-late",
    Severity.STOP,
    "Bypass acts at once. A player hits the switch on the beat, and when something howls it is the way to"
    " silence, so no hold may stand before it.",
    changed("press PUSH does bypass", "hold PUSH for 1 s does bypass"),
    DOORBELL,
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for does in mode.does:
            if not isinstance(does.deed, Bypass) or not isinstance(does.gesture, Hold):
                continue
            if not does.gesture.at_power_up:
                owner = called("mode", mode.label or mode.name)
                feet = " + ".join(does.gesture.controls)
                seconds = decimal_text(does.gesture.seconds)
                sentence = f"Bypass waits for a hold of {feet} for {seconds} s in {owner}."
                try_ = f"press {does.gesture.controls[0]} does bypass"
                yield Diagnostic(RULE, sentence, does.place, try_=try_)
