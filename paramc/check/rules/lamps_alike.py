"""Two modes that a lamp shows in the same way."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called, capital
from paramc.model.modes import Jumper, Mode, Shows
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity

_DEEP = "mode deep {{ enter hold PUSH at power up for 3 s  leave after 20 s  shows GLOW {} }}"

RULE = Rule(
    "lamps-alike",
    Severity.MEND,
    "The lamp is all that tells a player which mode is on. Where it does the same in two of them, one is"
    " taken for the other. Modes whose lamps differ in any one are told apart; whoever sets a jumper knows.",
    followed_by(_DEEP.format("on")),
    followed_by(_DEEP.format("blinks 1 Hz")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    before: dict[frozenset[Shows], Mode] = {}
    opened = frozenset(_plain(shows) for mode in product.modes if mode.open for shows in mode.shows)
    for mode in product.modes:
        if mode.enter is None or isinstance(mode.enter, Jumper) or not mode.shows:
            continue
        shown = frozenset(map(_plain, mode.shows))
        other = before.setdefault(shown, mode)
        owner = capital(called("mode", mode.label or mode.name))
        place, subject = mode.shows[0].place, f"mode {mode.name}"
        if other is not mode:
            sentence = f"{owner} is shown just as {called('mode', other.label or other.name)}."
            also = () if other.shows[0].place is None else (Mark(other.shows[0].place),)
            yield Diagnostic(RULE, sentence, place, also, subject=subject)
        elif shown <= opened:
            sentence = f"{owner} is shown just as the modes that need no gesture."
            yield Diagnostic(RULE, sentence, place, subject=subject)


def _plain(shows: Shows) -> Shows:
    """What the lamp does, whatever it is called."""
    return Shows(shows.lamp, shows.state, shows.blinks)
