"""A control that sets nothing and means nothing."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called, capital
from paramc.model.modes import Gesture, Hold, Press
from paramc.model.panel import Lamp, control_word
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_LAMP = 'lamp GLOW "Glow"'

RULE = Rule(
    "control-unused",
    Severity.MEND,
    "A player turns what is on the panel and listens. A knob, a switch or a pedal that no mode gives anything"
    " to sets nothing in the whole product: it was forgotten, or it does not belong on the panel.",
    changed(_LAMP, f'{_LAMP}\n  toggle TONE "Tone" 2 positions'),
    changed(
        "LOUD sets level", "LOUD sets level  TONE sets bright",
        changed(_LAMP, f'{_LAMP}\n  toggle TONE "Tone" 2 positions'),
    )
    + 'flag bright "Bright" { default off }\n',
)


def check(product: Product) -> Iterator[Diagnostic]:
    used = frozenset(_used(product))
    for part in product.panel:
        if not isinstance(part, Lamp) and part.name not in used:
            owner = capital(called(control_word(part), part.label))
            sentence = f"{owner} sets nothing in any mode, and no gesture is made with it."
            yield Diagnostic(RULE, sentence, part.place, subject=part.name)


def _used(product: Product) -> Iterator[str]:
    if product.tap is not None:
        yield product.tap.control
    for mode in product.modes:
        yield from (one.control for one in mode.sets)
        yield from (one.pedal for one in mode.expressions)
        for gesture in (mode.enter, mode.leave, *(does.gesture for does in mode.does)):
            yield from _made_with(gesture)


def _made_with(gesture: Gesture | None) -> tuple[str, ...]:
    match gesture:
        case Press(control):
            return (control,)
        case Hold(controls):
            return controls
        case _:
            return ()
