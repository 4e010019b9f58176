"""A pedal that does not say how the unit knows that it is unplugged."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.pedal_rules import with_pedal
from paramc.check.words import called
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

RULE = Rule(
    "unplugged-unsaid",
    Severity.MEND,
    "An open socket reads as some position of the pedal, so a unit without one would be stuck there. With"
    " the counts of an open socket in the file, the knob counts again when the pedal is pulled out.",
    with_pedal("level", "ends 100 .. 3900"),
    with_pedal("level", "ends 100 .. 3900  unplugged 4070 .. 4095"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for pedal in product.pedals:
        if pedal.unplugged is None:
            sentence = f"{called('Pedal', pedal.label)} does not say what it reads as while unplugged."
            try_ = f"unplugged {pedal.top - 25} .. {pedal.top}" if pedal.top > 1000 else ""
            yield Diagnostic(RULE, sentence, pedal.place, try_=try_, subject=pedal.name)
