"""A knob that goes both ways and whose zero is hard to find."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.rules.bipolar_noon import bipolar
from paramc.check.words import called, capital
from paramc.model.items import kind_word
from paramc.model.product import Product
from paramc.numbers.quantity import decimal_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

LEAST, MOST = Fraction(3, 100), Fraction(6, 100)

_BOTH = "range -10 dB .. 10 dB  noon 0 dB  step 0.5 dB {}"

RULE = Rule(
    "bipolar-flat",
    Severity.MEND,
    "Zero of a knob that goes both ways is found by eye and never exactly, so some travel about noon is flat."
    " Less than 3 % is missed, and more than 6 % is felt as a dead knob.",
    changed("range 0 % .. 100 %  step 1 %", _BOTH.format("")),
    changed("range 0 % .. 100 %  step 1 %", _BOTH.format(" flat for 4 % of travel")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in bipolar(product):
        if not LEAST <= item.flat <= MOST:
            owner = capital(called(kind_word(item), item.label))
            flat = f"for {decimal_text(item.flat * 100)} % of travel" if item.flat else "nowhere"
            sentence = f"{owner} goes both ways and is flat {flat}."
            yield Diagnostic(RULE, sentence, item.place, try_="flat for 4 % of travel", subject=item.name)
