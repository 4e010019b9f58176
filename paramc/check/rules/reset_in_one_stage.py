"""A reset that does not ask a second time."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called
from paramc.model.modes import Reset
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_DEED = "press PUSH does bypass  hold PUSH for 3 s does reset look undoes press"

RULE = Rule(
    "reset-in-one-stage",
    Severity.STOP,
    "A reset throws away what a player has saved. One gesture is soon made by mistake, in the dark or by"
    " somebody else; `twice` asks for it a second time, and any other gesture calls it off.",
    changed("press PUSH does bypass", _DEED),
    changed("press PUSH does bypass", f"{_DEED} twice"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        for does in mode.does:
            if isinstance(does.deed, Reset) and not does.twice:
                owner = called("mode", mode.label or mode.name)
                sentence = f"A gesture of {owner} resets the {does.deed.scope.value} without asking twice."
                yield Diagnostic(RULE, sentence, does.place, try_="twice")
