"""No brown-out detector is declared."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import DOORBELL, changed
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

RULE = Rule(
    "brown-out-unsaid",
    Severity.MEND,
    "While a supply fades, a processor without a brown-out detector runs on with too little voltage and can"
    " write anything anywhere. Pedals have no off switch, so every switch-off is such a fade. Say the level"
    " at which the detector holds the processor in reset.",
    changed("  brown-out 2.7 V", ""),
    DOORBELL,
)


def check(product: Product) -> Iterator[Diagnostic]:
    if product.chip.brown_out is None:
        sentence = "The chip does not say its brown-out level."
        yield Diagnostic(RULE, sentence, product.chip.place, try_="brown-out 2.7 V")
