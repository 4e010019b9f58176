"""A loop that can grow without a limiter."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called, capital
from paramc.model.feedback import feeds_itself_above
from paramc.model.items import Param, Role, kind_word
from paramc.model.product import Product
from paramc.numbers.quantity import Quantity
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_LOOP = 'param loop "Loop" {{ range 0 % .. 110 %  noon 45 %  step 1 %  acts as loop gain {} }}'

RULE = Rule(
    "loop-unlimited",
    Severity.MEND,
    "Above unity gain a loop grows with every round until something stops it. The file names the limiter that"
    " does, so that it is not left to whatever clips first.",
    followed_by(_LOOP.format("")),
    followed_by(_LOOP.format(' limiter "soft knee in the loop, always on"')),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in product.items:
        if not isinstance(item, Param) or item.role is not Role.LOOP_GAIN or item.limiter is not None:
            continue
        unity = feeds_itself_above(item)
        if unity is not None:
            owner = capital(called(kind_word(item), item.label))
            high, above = Quantity(item.scale.high, item.scale.unit), Quantity(unity, item.scale.unit)
            sentence = f"{owner} goes up to {high}, feeds itself above {above}, and names no limiter."
            yield Diagnostic(RULE, sentence, item.place, try_='limiter "..."', subject=item.name)
