"""A level that is not unity at noon."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.words import called, capital
from paramc.model.items import Param, Role, kind_word
from paramc.model.product import Product
from paramc.model.scale import HALF
from paramc.numbers.real import compare
from paramc.numbers.units import Dimension
from paramc.numbers.wording import real_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

MOST_DB = Fraction(1)

_LEVEL = "range -40 dB .. 12 dB  noon {}  step 0.5 dB  off at stop  acts as level"

RULE = Rule(
    "level-noon",
    Severity.MEND,
    "With every knob at noon a pedal is about as loud switched in as bypassed, so that nobody is startled and"
    " nobody takes louder for better. Noon of a level lies within 1 dB of 0 dB.",
    changed("range 0 % .. 100 %  step 1 %", _LEVEL.format("-6 dB")),
    changed("range 0 % .. 100 %  step 1 %", _LEVEL.format("0 dB")),
)


def levels(product: Product) -> Iterator[Param]:
    """The params in dB that act as a level and are on the panel for all to see."""
    for item in product.items:
        if isinstance(item, Param) and item.role is Role.LEVEL and not product.is_hidden(item.name):
            if item.scale.unit.dimension is Dimension.LEVEL_DIFFERENCE:
                yield item


def check(product: Product) -> Iterator[Diagnostic]:
    for item in levels(product):
        noon = item.scale.at(HALF)
        if compare(noon, MOST_DB) > 0 or compare(noon, -MOST_DB) < 0:
            owner = capital(called(kind_word(item), item.label))
            sentence = f"{owner} is {real_text(noon, item.scale.unit)} at noon, more than 1 dB from 0 dB."
            yield Diagnostic(RULE, sentence, item.place, try_="noon 0 dB", subject=item.name)
