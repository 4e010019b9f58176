"""A resonance that can ring without a limiter."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called, capital
from paramc.model.feedback import feeds_itself_above
from paramc.model.items import Param, Role, kind_word
from paramc.model.product import Product
from paramc.numbers.quantity import Quantity
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_PEAK = 'param peak "Peak" {{ range 1 Q .. 14 Q  step 0.5 Q  acts as resonance {} }}'

RULE = Rule(
    "resonance-unlimited",
    Severity.MEND,
    "A resonance of Q 14 raises its frequency by 23 dB, and a note that meets it is that much louder. Above Q"
    " 8, which is 18 dB, the file names the limiter that keeps it in bounds and that nobody can switch off.",
    followed_by(_PEAK.format("")),
    followed_by(_PEAK.format(' limiter "clips at the output, always on"')),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in product.items:
        if not isinstance(item, Param) or item.role is not Role.RESONANCE or item.limiter is not None:
            continue
        if feeds_itself_above(item) is not None:
            owner = capital(called(kind_word(item), item.label))
            high = Quantity(item.scale.high, item.scale.unit)
            sentence = f"{owner} goes up to {high} and names no limiter."
            yield Diagnostic(RULE, sentence, item.place, try_='limiter "..."', subject=item.name)
