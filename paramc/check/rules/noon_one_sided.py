"""Nearly all of a range lies on one side of noon."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.words import called
from paramc.model.items import Param, kind_word
from paramc.model.product import Product
from paramc.model.scale import ThreePoint
from paramc.numbers.quantity import Quantity, decimal_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

MOST_SHARE = Fraction(98, 100)


def _fine(lines: str) -> str:
    """The example with a level that says this, on a converter that is fine enough for it."""
    return changed("range 0 % .. 100 %  step 1 %", lines).replace("adc 10 bits", "adc 12 bits")


RULE = Rule(
    "noon-one-sided",
    Severity.MEND,
    "More than 98 % of the range lies on one side of noon. Half of the travel then does next to nothing, and"
    " the other half runs through the range so fast that few of its values can be met by hand.",
    _fine("range 0 % .. 100 %  noon 1 %  step 1 %"),
    _fine("range 0 % .. 100 %  noon 2 %  step 1 %"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in product.items:
        if not isinstance(item, Param) or not isinstance(item.scale.law, ThreePoint):
            continue
        scale, noon = item.scale, item.scale.law.noon
        below = abs(noon - scale.first) / abs(scale.last - scale.first)
        share = max(below, 1 - below)
        if share > MOST_SHARE:
            side = "before" if below == share else "behind"
            ends = f"{Quantity(scale.first, scale.unit)} to {Quantity(scale.last, scale.unit)}"
            sentence = (
                f"Of the range of {called(kind_word(item), item.label)}, {ends},"
                f" {decimal_text(share * 100, 2)} % lie {side} noon, {Quantity(noon, scale.unit)}."
            )
            yield Diagnostic(RULE, sentence, item.place, subject=item.name)
