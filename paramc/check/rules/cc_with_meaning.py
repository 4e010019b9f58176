"""A controller number that other equipment uses for something else."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import followed_by
from paramc.check.words import called
from paramc.model.items import Param, Role, kind_word
from paramc.model.midi import FINE_OFFSET, Cc
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

# MIDI 1.0 detailed specification, table of controller numbers.
BANK, VOLUME = (0, 32), 7

RULE = Rule(
    "cc-with-meaning",
    Severity.MEND,
    "Some controllers are sent without anybody asking: 0 and 32 choose a bank before every program change, 7"
    " is the volume of the channel, and 32 to 63 are the lower halves of 0 to 31. An item that takes one is"
    " turned by equipment that means something else. 7 is right for a level.",
    followed_by("midi { channel 1  cc 7 sets level }"),
    followed_by("midi { channel 1  cc 20 sets level }"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    if product.midi is None:
        return
    for cc in product.midi.ccs:
        meaning = _meaning(product, cc)
        if meaning is not None:
            item = product.item(cc.item)
            sentence = f"Controller {cc.number} sets {called(kind_word(item), item.label)}, and {meaning}."
            yield Diagnostic(RULE, sentence, cc.place, try_="one of 20 to 31 or 102 to 119", subject=cc.item)


def _meaning(product: Product, cc: Cc) -> str | None:
    if cc.number in BANK:
        return "it chooses banks elsewhere"
    if cc.number == VOLUME:
        item = product.item(cc.item)
        level = isinstance(item, Param) and item.role is Role.LEVEL
        return None if level else "it is the volume elsewhere"
    if FINE_OFFSET <= cc.number < 2 * FINE_OFFSET:
        return f"it is the lower half of controller {cc.number - FINE_OFFSET} elsewhere"
    return None
