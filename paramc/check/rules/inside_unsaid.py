"""It is not said how high the voltages inside are."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import DOORBELL, changed
from paramc.check.words import called
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

RULE = Rule(
    "inside-unsaid",
    Severity.MEND,
    "Whether the voltages inside can kill decides what stands beside every trim, in the header and in the"
    " papers of the bench. Nothing is taken for granted: say inside low voltage, high voltage or mains.",
    changed("inside low voltage", ""),
    DOORBELL,
)


def check(product: Product) -> Iterator[Diagnostic]:
    if product.inside is None:
        sentence = f"{called('Product', product.label)} does not say how high the voltages inside are."
        yield Diagnostic(RULE, sentence, product.place, try_="inside low voltage")
