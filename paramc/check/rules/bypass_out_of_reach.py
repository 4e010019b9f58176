"""A mode in which no press bypasses."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called
from paramc.model.modes import Bypass, Jumper, Press
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_DEEP = (
    "mode deep {{ enter hold PUSH at power up for 3 s  leave after 20 s  shows GLOW blinks 1 Hz"
    "  LOUD sets level  {} }}"
)

RULE = Rule(
    "bypass-out-of-reach",
    Severity.MEND,
    "In a mode that was entered the gestures of the open modes do not count, bypass among them. Knobs turned"
    " there can make it howl, and then a press has to end that: one that bypasses, or one that leaves the"
    " mode for where bypass is.",
    followed_by(_DEEP.format("")),
    followed_by(_DEEP.format("press PUSH does bypass")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    if not any(isinstance(does.deed, Bypass) for mode in product.modes if mode.open for does in mode.does):
        return
    for mode in product.modes:
        if mode.enter is None or isinstance(mode.enter, Jumper) or isinstance(mode.leave, Press):
            continue
        if not any(isinstance(does.deed, Bypass) for does in mode.does):
            sentence = f"In {called('mode', mode.label or mode.name)} no press bypasses or leaves the mode."
            yield Diagnostic(
                RULE, sentence, mode.place, try_="press FOOT does bypass, or leave press FOOT",
                subject=f"mode {mode.name}",
            )  # fmt: skip
