"""A unit that can wake engaged, and no promise about how loud."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.rules.level_noon import levels
from paramc.check.words import called, capital
from paramc.model.expression import names
from paramc.model.items import Selector, kind_word
from paramc.model.product import Product, Wakes
from paramc.model.promises import OfExpression, OfItem, Promise, PromiseScope
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_LEVEL = changed(
    "range 0 % .. 100 %  step 1 %",
    "range -40 dB .. 6 dB  noon 0 dB  step 0.5 dB  off at stop  acts as level",
    changed("revision 1", "revision 1  wakes engaged"),
)

RULE = Rule(
    "power-up-unpromised",
    Severity.MEND,
    "A player plugs in with the amplifier up. A unit that can wake engaged says by a promise at power up how"
    " loud that is at most, so that neither another first preset nor another range makes it a surprise. One"
    " that wakes as it was can be as loud as it can be set; where that is wanted, the reason is worth writing"
    " down.",
    _LEVEL,
    _LEVEL + 'promise "wakes no louder than bypass" at power up level <= 0 dB\n',
)


def check(product: Product) -> Iterator[Diagnostic]:
    if not _can_wake_engaged(product):
        return
    promised = frozenset[str]().union(*map(_spoken_of, product.promises))
    for item in levels(product):
        if item.name not in promised:
            owner = capital(called(kind_word(item), item.label))
            sentence = f"{owner} has no promise at power up, and the unit can wake engaged."
            try_ = f'promise "it wakes no louder than bypass" at power up {item.name} <= 0 dB'
            yield Diagnostic(RULE, sentence, item.place, try_=try_, subject=item.name)


def _can_wake_engaged(product: Product) -> bool:
    if product.wakes_from is None:
        return product.wakes is not Wakes.BYPASSED
    chooser = product.item(product.wakes_from)
    return isinstance(chooser, Selector) and any(way.name in ("engaged", "last") for way in chooser.ways)


def _spoken_of(promise: Promise) -> frozenset[str]:
    if promise.scope is not PromiseScope.AT_POWER_UP:
        return frozenset()
    match promise.subject:
        case OfItem(name):
            return frozenset({name})
        case OfExpression(expression):
            return names(expression)
