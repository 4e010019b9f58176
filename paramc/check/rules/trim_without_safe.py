"""A trim whose loss can do harm has no safe value."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called
from paramc.model.product import IfLost, Inside, Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_TRIM = 'trim bias "Bias" {{ range -10 % .. 10 %  step 1 %  nominal 0 %{} }}'

RULE = Rule(
    "trim-without-safe",
    Severity.MEND,
    "A unit whose trims are lost plays with their safe values, or with nominal where there is none. Nominal"
    " is right for most units and wrong for this one, which can overheat parts. So every trim says what is"
    " safe where the voltages inside are high, where parts run hot, or where the unit mutes while trims are"
    " lost, as it does unless the bench says otherwise.",
    followed_by(_TRIM.format("")),
    followed_by(_TRIM.format("  safe -10 %")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    because = tuple(_dangers(product))
    if not because:
        return
    for trim in product.trims:
        if trim.safe is None:
            sentence = f"{called('Trim', trim.label)} does not say what is safe while it is lost."
            yield Diagnostic(RULE, sentence, trim.place, (), because, subject=trim.name)


def _dangers(product: Product) -> Iterator[str]:
    """Why a lost trim can do harm, a sentence each."""
    if product.inside in (Inside.HIGH, Inside.MAINS):
        yield f"The product says inside {product.inside.value}."
    if product.hot:
        yield "The product names hot parts."
    if product.holds.if_lost is IfLost.MUTE:
        yield "The unit mutes while trims are lost."
