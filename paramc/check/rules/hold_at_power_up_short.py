"""A hold at power up is so short that a foot on the switch while plugging in is taken for it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import followed_by
from paramc.check.words import called
from paramc.model.modes import Gesture, Hold, Mode
from paramc.model.product import Product
from paramc.numbers.quantity import decimal_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

LEAST_SECONDS = Fraction(2)

_DEEP = 'mode deep {{ hidden  enter hold PUSH at power up for {}  leave after 20 s }}'

RULE = Rule(
    "hold-at-power-up-short",
    Severity.MEND,
    "Plugging in a pedal on the floor, one easily stands on a switch. A hold at power up of less than 2"
    " seconds would then enter a mode, or do something, that nobody asked for.",
    followed_by(_DEEP.format("1.5 s")),
    followed_by(_DEEP.format("2 s")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for gesture in _gestures(mode):
            if isinstance(gesture, Hold) and gesture.at_power_up and gesture.seconds < LEAST_SECONDS:
                owner = called("mode", mode.label or mode.name)
                seconds = decimal_text(gesture.seconds)
                sentence = f"A hold at power up of {owner} takes {seconds} s, less than 2 s."
                yield Diagnostic(RULE, sentence, gesture.place, try_="for 2 s", subject=f"mode {mode.name}")


def _gestures(mode: Mode) -> Iterator[Gesture]:
    if mode.enter is not None:
        yield mode.enter
    yield from (does.gesture for does in mode.does)
