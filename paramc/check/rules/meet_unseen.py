"""A knob that waits to meet a stored value, on a panel without a lamp."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called, capital
from paramc.model.panel import Knob, Lamp, Recall
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_WITHOUT = changed('\n  lamp GLOW "Glow"', "", changed("  shows GLOW on", ""))

RULE = Rule(
    "meet-unseen",
    Severity.MEND,
    "A knob that meets does nothing until it has passed the stored value, and a knob that does nothing seems"
    " broken. A lamp that shows it waiting tells the two apart, and the panel has none.",
    changed("adc 10 bits", "adc 10 bits  after recall meet", _WITHOUT),
    changed("adc 10 bits", "adc 10 bits  after recall converge", _WITHOUT),
)


def check(product: Product) -> Iterator[Diagnostic]:
    if any(isinstance(control, Lamp) for control in product.panel):
        return
    for knob in product.panel:
        if isinstance(knob, Knob) and knob.recall is Recall.MEET:
            sentence = f"{capital(called('knob', knob.label))} meets, and no lamp can show that it waits."
            yield Diagnostic(RULE, sentence, knob.place, try_="after recall converge", subject=knob.name)
