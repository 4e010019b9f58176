"""A pedal that gives the same at heel and toe."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.pedal_rules import with_pedal
from paramc.check.values import code_text
from paramc.check.words import called, capital
from paramc.model.items import Param
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity

_RIGHT = with_pedal("level from heel to toe", "unplugged 4070 .. 4095")

RULE = Rule(
    "heel-is-toe",
    Severity.STOP,
    "Heel and toe say between which values a pedal moves. Out of the factory both are the same here, so"
    " the pedal would do nothing until somebody found the two settings. The heel may lie above the toe.",
    _RIGHT.replace("default 100 %", "default 0 %"),
    _RIGHT,
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for targets in mode.expressions:
            if targets.heel is None or targets.toe is None:
                continue
            heel, toe = product.item(targets.heel), product.item(targets.toe)
            if not isinstance(heel, Param) or not isinstance(toe, Param):
                continue
            if heel.scale.value(heel.default) == toe.scale.value(toe.default):
                pedal = called("pedal", product.control(targets.pedal).label)
                value = code_text(heel, heel.default)
                sentence = f"{capital(pedal)} gives the same at heel and toe, {value}."
                also = tuple(Mark(one.place, f"the {word}") for one, word in ((heel, "heel"), (toe, "toe"))
                             if one.place is not None)  # fmt: skip
                yield Diagnostic(RULE, sentence, targets.place, also, subject=targets.pedal)
