"""A gesture of two feet or three seconds that is the only way to what it does."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.gestures import gesture_text
from paramc.check.words import called, capital
from paramc.model.modes import Gesture, Hold, Mode, NextPreset
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

LONG_SECONDS = Fraction(3)

_NEXT = "press PUSH does bypass  hold PUSH for {} does next preset undoes press"

RULE = Rule(
    "one-way-in",
    Severity.MEND,
    "Not everybody has two feet to stand on two switches, or can keep one down for 3 seconds. What is done or"
    " entered that way has a second, easier way too: another gesture, or MIDI for the next preset. Where it"
    " has none on purpose, the reason is worth writing down.",
    changed("press PUSH does bypass", _NEXT.format("3 s")),
    changed("press PUSH does bypass", _NEXT.format("1 s")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        owner, subject = called("mode", mode.label or mode.name), f"mode {mode.name}"
        if mode.enter is not None and _hard(mode.enter):
            sentence = f"{capital(gesture_text(mode.enter))} is the only way into {owner}."
            yield Diagnostic(RULE, sentence, mode.enter.place, subject=subject)
        for does in mode.does:
            if _hard(does.gesture) and not _another(product, mode, does.deed):
                gesture = capital(gesture_text(does.gesture))
                sentence = f"{gesture} is the only way to what it does in {owner}."
                yield Diagnostic(RULE, sentence, does.place, subject=subject)


def _hard(gesture: Gesture) -> bool:
    return isinstance(gesture, Hold) and (len(gesture.controls) > 1 or gesture.seconds >= LONG_SECONDS)


def _another(product: Product, mode: Mode, deed: object) -> bool:
    if isinstance(deed, NextPreset) and product.midi is not None and product.midi.program is not None:
        return True
    return any(does.deed == deed and not _hard(does.gesture) for does in mode.does)
