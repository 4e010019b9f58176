"""A knob whose value falls as it is turned up."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called
from paramc.model.items import Param, Role, Signal
from paramc.model.product import Product
from paramc.numbers.quantity import Quantity
from paramc.text.diagnostic import Diagnostic, Rule, Severity


def _falling(more: str) -> str:
    return changed("range 0 % .. 100 %", f"range 100 % .. 0 %  {more}")


RULE = Rule(
    "falling-unsaid",
    Severity.MEND,
    "Clockwise is more of what the label says. A range may fall, as a threshold does, and then a line of"
    " help says what there is more of, so that nobody takes the knob for wired the wrong way round.",
    _falling(""),
    _falling('help "Turn up for more room: the dry part falls."'),
)


def check(product: Product) -> Iterator[Diagnostic]:
    for item in product.items:
        if not isinstance(item, Param) or item.scale.first < item.scale.last or item.role is Role.THRESHOLD:
            continue
        helped = any(note.signal is Signal.HELP for note in item.notes)
        if product.front_knobs(item.name) and not helped:
            first, last = (Quantity(end, item.scale.unit) for end in (item.scale.first, item.scale.last))
            sentence = f"Turned up, {called('param', item.label)} falls from {first} to {last}."
            yield Diagnostic(RULE, sentence, item.place, subject=item.name,
                             try_='help "Turn up for more of what the label says."')  # fmt: skip
