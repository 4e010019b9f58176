"""How many controls, modes, gestures and lamp signs a product may have."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.check.mode_rules import TOO_MANY_PARTS
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Span

MOST = 254
"""One byte, whose last value means none."""


def check_counts(product: Product, found: list[Diagnostic]) -> None:
    """A stop for each kind of which there are too many, at the first one too many."""
    enters = [mode.enter for mode in product.modes if mode.enter is not None]
    leaves = [mode.leave for mode in product.modes if mode.leave is not None]
    deeds = [does.gesture for mode in product.modes for does in mode.does]
    shows = [shown for mode in product.modes for shown in mode.shows]
    counted: tuple[tuple[str, Sequence[Span | None]], ...] = (
        ("controls", [control.place for control in product.panel]),
        ("modes", [mode.place for mode in product.modes]),
        ("gestures", [gesture.place for gesture in (*deeds, *enters, *leaves)]),
        ("signs of lamps", [shown.place for shown in shows]),
    )
    for what, places in counted:
        if len(places) > MOST:
            sentence = f"There are {len(places)} {what}; {MOST} are the most."
            found.append(Diagnostic(TOO_MANY_PARTS, sentence, places[MOST]))
