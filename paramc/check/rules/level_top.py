"""A level that goes far above unity."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.rules.level_noon import levels
from paramc.check.words import called, capital
from paramc.model.items import kind_word
from paramc.model.product import Product
from paramc.numbers.quantity import Quantity
from paramc.text.diagnostic import Diagnostic, Rule, Severity

MOST_DB = Fraction(12)

_LEVEL = "range -40 dB .. {}  noon 0 dB  step 0.5 dB  off at stop  acts as level"

RULE = Rule(
    "level-top",
    Severity.MEND,
    "A level fully clockwise is found by accident sooner or later. More than 12 dB above bypass is four times"
    " the voltage and hurts on stage.",
    changed("range 0 % .. 100 %  step 1 %", _LEVEL.format("18 dB")),
    changed("range 0 % .. 100 %  step 1 %", _LEVEL.format("12 dB")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in levels(product):
        if item.scale.high > MOST_DB:
            owner = capital(called(kind_word(item), item.label))
            sentence = f"{owner} goes up to {Quantity(item.scale.high, item.scale.unit)}, more than 12 dB."
            yield Diagnostic(RULE, sentence, item.place, subject=item.name)
