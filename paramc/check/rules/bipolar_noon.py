"""A knob that goes both ways and is not at zero at noon."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called, capital
from paramc.model.items import Param, kind_word
from paramc.model.product import Product
from paramc.model.scale import HALF
from paramc.numbers.real import compare
from paramc.numbers.wording import real_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_BOTH = "range -10 dB .. 10 dB  noon {}  step 0.5 dB  flat for 4 % of travel"

RULE = Rule(
    "bipolar-noon",
    Severity.MEND,
    "A range as far below zero as above it cuts on one side and raises on the other. Everybody expects the"
    " place where it does nothing at noon, and no panel says otherwise.",
    changed("range 0 % .. 100 %  step 1 %", _BOTH.format("2 dB")),
    changed("range 0 % .. 100 %  step 1 %", _BOTH.format("0 dB")),
)


def bipolar(product: Product) -> Iterator[Param]:
    """The params that go as far below zero as above it, and that a knob sets."""
    for item in product.items:
        if isinstance(item, Param) and item.scale.first == -item.scale.last:
            if product.knobs_that_set(item.name):
                yield item


def check(product: Product) -> Iterator[Diagnostic]:
    for item in bipolar(product):
        noon = item.scale.at(HALF)
        if compare(noon, item.scale.first + item.scale.last) != 0:
            owner = capital(called(kind_word(item), item.label))
            sentence = f"{owner} goes both ways and is {real_text(noon, item.scale.unit)} at noon."
            yield Diagnostic(RULE, sentence, item.place, try_="noon 0", subject=item.name)
