"""A reset that one foot makes in less than two seconds."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.gestures import gesture_text
from paramc.check.words import called, capital
from paramc.model.modes import Gesture, Hold, Press, Reset
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

LEAST_SECONDS = Fraction(2)

_DEED = "press PUSH does bypass  hold PUSH for {} does reset look undoes press twice"

RULE = Rule(
    "reset-by-one-foot",
    Severity.MEND,
    "A foot that rests on a switch for a second means nothing by it. What throws sounds away takes two feet,"
    " or one for 2 seconds at least.",
    changed("press PUSH does bypass", _DEED.format("1 s")),
    changed("press PUSH does bypass", _DEED.format("2 s")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for does in mode.does:
            if isinstance(does.deed, Reset) and _soon(does.gesture):
                owner = called("mode", mode.label or mode.name)
                gesture, scope = capital(gesture_text(does.gesture)), does.deed.scope.value
                sentence = f"{gesture} resets the {scope} in {owner}, by one foot in less than 2 s."
                yield Diagnostic(RULE, sentence, does.place, try_="for 2 s", subject=f"mode {mode.name}")


def _soon(gesture: Gesture) -> bool:
    match gesture:
        case Press():
            return True
        case Hold(controls, seconds, _):
            return len(controls) == 1 and seconds < LEAST_SECONDS
        case _:
            return False
