"""A mode that feet can enter and that no lamp shows."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called, capital
from paramc.model.modes import Jumper
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_DEEP = "mode deep {{ hidden  enter hold PUSH at power up for 3 s  leave after 20 s {} }}"

RULE = Rule(
    "mode-unseen",
    Severity.MEND,
    "In a mode that was entered the knobs and switches mean something else. Whoever got there by mistake"
    " finds a pedal that seems broken, unless a lamp says that it is in another mode.",
    followed_by(_DEEP.format("")),
    followed_by(_DEEP.format(" shows GLOW blinks 1 Hz")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for mode in product.modes:
        if mode.enter is None or isinstance(mode.enter, Jumper) or mode.shows:
            continue
        owner = capital(called("mode", mode.label or mode.name))
        sentence = f"{owner} is entered by foot, and no lamp shows it."
        try_ = "shows LAMP blinks 1 Hz"
        yield Diagnostic(RULE, sentence, mode.place, try_=try_, subject=f"mode {mode.name}")
