"""A knob that does not say what it does after a preset call."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called, capital
from paramc.model.modes import NextPreset
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_CALLED = changed("press PUSH does bypass", "press PUSH does next preset")

RULE = Rule(
    "recall-unsaid",
    Severity.MEND,
    "When a preset has been called, a knob points to one value and the preset has another. Whether the knob"
    " then acts at once, when it passes the stored value, or by drawing it nearer is a choice that players"
    " feel, so the file says it: after recall leap, meet or converge.",
    _CALLED,
    changed("adc 10 bits", "adc 10 bits  after recall leap", _CALLED),
)


def check(product: Product) -> Iterator[Diagnostic]:
    if not presets_are_called(product):
        return
    kept = {item.name for item in product.per_preset}
    sets = {sets.control for mode in product.modes for sets in mode.sets if sets.item in kept}
    for knob in product.knobs:
        if knob.name in sets and knob.recall is None:
            owner = capital(called("knob", knob.label))
            sentence = f"{owner} sets what presets keep, and does not say what it does after a call."
            yield Diagnostic(RULE, sentence, knob.place, try_="after recall leap", subject=knob.name)


def presets_are_called(product: Product) -> bool:
    """Whether anything calls another preset while the product plays."""
    by_foot = any(isinstance(does.deed, NextPreset) for mode in product.modes for does in mode.does)
    return by_foot or (product.midi is not None and product.midi.program is not None)
