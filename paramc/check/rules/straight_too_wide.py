"""A time, rate or frequency on a straight taper over a wide range."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called, capital
from paramc.model.items import Param, kind_word
from paramc.model.laws import Straight
from paramc.model.product import Product
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import Dimension
from paramc.text.diagnostic import Diagnostic, Rule, Severity

MOST_RATIO = 10

RULE = Rule(
    "straight-too-wide",
    Severity.MEND,
    "Times, rates and frequencies are heard by their ratio. Over more than 1:10 a straight taper gives most"
    " of the travel to the upper end and squeezes the lower one into its first hours. A noon or a geometric"
    " taper shares it out as it is heard.",
    changed("range 0 % .. 100 %  step 1 %", "range 20 ms .. 400 ms  step 2 ms"),
    changed("range 0 % .. 100 %  step 1 %", "range 20 ms .. 400 ms  noon 90 ms  step 2 ms"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in product.items:
        if not isinstance(item, Param) or not isinstance(item.scale.law, Straight):
            continue
        scale = item.scale
        if scale.unit.dimension not in (Dimension.TIME, Dimension.FREQUENCY):
            continue
        # Of a range from zero the first value above it counts: 0 to 5 ms in whole ms is 1:5.
        first = scale.low or (scale.high - scale.low) / (scale.codes - 1)
        if scale.low >= 0 and scale.high > MOST_RATIO * first and product.knobs_that_set(item.name):
            ends = f"{Quantity(scale.first, scale.unit)} to {Quantity(scale.last, scale.unit)}"
            owner = capital(called(kind_word(item), item.label))
            sentence = f"{owner} is straight over {ends}, which is more than 1:{MOST_RATIO}."
            try_ = "taper geometric" if scale.low else "taper audio 20 %"
            yield Diagnostic(RULE, sentence, item.place, try_=try_, subject=item.name)
