"""A lamp flashes faster than is known to be harmless."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import changed
from paramc.check.words import called
from paramc.model.product import Product
from paramc.numbers.quantity import decimal_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

# WCAG 2.1, success criterion 2.3.1, Three Flashes or Below Threshold: a rule for screens, taken
# here as a careful guide for lamps.
MOST_HERTZ = Fraction(3)

RULE = Rule(
    "lamp-over-3-hertz",
    Severity.MEND,
    "Lamps that flash more than 3 times a second can trigger seizures or migraine. The figure is the one"
    " that WCAG 2.3.1 gives for screens; no lower one is known for lamps.",
    changed("shows GLOW on", "shows GLOW blinks 4 Hz"),
    changed("shows GLOW on", "shows GLOW blinks 3 Hz"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for shows in mode.shows:
            if shows.blinks is not None and shows.blinks > MOST_HERTZ:
                lamp = called("Lamp", product.control(shows.lamp).label)
                owner = called("mode", mode.label or mode.name)
                sentence = f"{lamp} blinks at {decimal_text(shows.blinks)} Hz in {owner}, more than 3 Hz."
                yield Diagnostic(RULE, sentence, shows.place, try_="blinks 3 Hz", subject=shows.lamp)
