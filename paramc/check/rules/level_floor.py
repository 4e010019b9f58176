"""A level that is as good as off at its low end and not off."""

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

SILENT_DB = Fraction(-40)

_LEVEL = "range -60 dB .. 12 dB  noon 0 dB  step 0.5 dB {} acts as level"

RULE = Rule(
    "level-floor",
    Severity.MEND,
    "Fully anticlockwise a level that goes down this far is taken for off. At -60 dB it is not: into a loud"
    " amplifier it is still heard. `off at stop` makes the last code silence.",
    changed("range 0 % .. 100 %  step 1 %", _LEVEL.format(" ")),
    changed("range 0 % .. 100 %  step 1 %", _LEVEL.format(" off at stop ")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in levels(product):
        if item.scale.low <= SILENT_DB and not item.scale.off_at_stop:
            owner = capital(called(kind_word(item), item.label))
            low = Quantity(item.scale.low, item.scale.unit)
            sentence = f"{owner} goes down to {low}, and does not fall silent there."
            yield Diagnostic(RULE, sentence, item.place, try_="off at stop", subject=item.name)
