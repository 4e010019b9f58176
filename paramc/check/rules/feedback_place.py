"""Where on a knob's travel a loop begins to feed itself."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.check.example import followed_by
from paramc.check.words import called, capital
from paramc.model.feedback import feeds_itself_above
from paramc.model.items import Param, Role, kind_word
from paramc.model.product import Product
from paramc.numbers.real import compare
from paramc.numbers.wording import real_text
from paramc.text.diagnostic import Diagnostic, Rule, Severity

EARLIEST, LATEST = Fraction(80, 100), Fraction(96, 100)

_LOOP = 'param loop "Loop" {{ range 0 % .. {}  noon 45 %  step 1 %  acts as loop gain  limiter "soft" }}'

RULE = Rule(
    "feedback-place",
    Severity.MEND,
    "Above unity gain a loop feeds itself. That end of the knob is played, so it has to be wide enough to be"
    " found and held, and not so wide that it is met by accident: the crossing lies between 80 % and 96 % of"
    " travel.",
    followed_by(_LOOP.format("190 %")),
    followed_by(_LOOP.format("110 %")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in product.items:
        if not isinstance(item, Param) or item.role is not Role.LOOP_GAIN:
            continue
        scale = item.scale
        unity = feeds_itself_above(item)
        if unity is None or unity <= scale.low:
            continue
        rising = scale.last > scale.first
        for travel, wrong, words in ((EARLIEST, 1, "before"), (LATEST, -1, "behind")):
            there = scale.at(travel if rising else 1 - travel)
            if compare(there, unity) == wrong:
                owner = capital(called(kind_word(item), item.label))
                sentence = (
                    f"{owner} begins to feed itself {words} {travel * 100} % of travel, where it is"
                    f" {real_text(there, scale.unit)}."
                )
                yield Diagnostic(RULE, sentence, item.place, subject=item.name)
