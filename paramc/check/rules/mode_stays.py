"""A mode that feet can enter and that does not end by itself."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called, capital
from paramc.model.modes import Jumper
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_DEEP = "mode deep {{ hidden  enter hold PUSH at power up for 3 s  {}  shows GLOW blinks 1 Hz }}"

RULE = Rule(
    "mode-stays",
    Severity.MEND,
    "A mode that was entered by mistake, with a foot on the switch while plugging in, lasts until it is left."
    " With `leave after` it ends by itself when nothing is moved, and the pedal is itself again.",
    followed_by(_DEEP.format("leave press PUSH")),
    followed_by(_DEEP.format("leave press PUSH or after 20 s")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        if mode.enter is None or isinstance(mode.enter, Jumper) or mode.leave_after is not None:
            continue
        owner = capital(called("mode", mode.label or mode.name))
        sentence = f"{owner} is entered by foot and does not end by itself."
        yield Diagnostic(RULE, sentence, mode.place, try_="leave after 20 s", subject=f"mode {mode.name}")
