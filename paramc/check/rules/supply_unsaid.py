"""The supply is not said."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import DOORBELL, changed
from paramc.check.words import called
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

RULE = Rule(
    "supply-unsaid",
    Severity.MEND,
    "The same plug comes with other voltages, with alternating current and with the poles swapped, and these"
    " can burn out or heat a unit. With the supply in the file, the owner's sheet, the bench and replies to"
    " players all say the same one.",
    changed("  supply 9 V dc centre negative 20 mA", ""),
    DOORBELL,
)


def check(product: Product) -> Iterator[Diagnostic]:
    if product.supply is None:
        sentence = f"{called('Product', product.label)} does not say its supply."
        yield Diagnostic(RULE, sentence, product.place, try_="supply 9 V dc centre negative 100 mA")
