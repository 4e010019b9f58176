"""A toggle of three positions whose middle is not the default."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import changed
from paramc.check.words import called
from paramc.model.items import Selector
from paramc.model.panel import Switch, SwitchKind
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity


def _toggle(default: str) -> str:
    text = changed('footswitch PUSH', 'toggle TONE "Tone" 3 positions\n  footswitch PUSH')
    ways = 'selector hue "Hue" {{ way low "Low"  way flat "Flat"  way high "High"  default {} }}\n'
    return changed("LOUD sets level", "LOUD sets level  TONE sets hue", text) + ways.format(default)


RULE = Rule(
    "middle-not-default",
    Severity.MEND,
    "Everything at noon means the middle of a toggle too. Where that is not the default, the pedal out of"
    " the box and the pedal with everything at noon are two different ones.",
    _toggle("low"),
    _toggle("flat"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    toggles = {
        one.name: one for one in product.panel
        if isinstance(one, Switch) and one.kind is SwitchKind.TOGGLE and one.positions == 3
    }
    for mode in product.modes:
        for sets in mode.sets if mode.open else ():
            item = product.item(sets.item)
            if sets.control in toggles and isinstance(item, Selector) and item.default != item.places[1]:
                middle = item.ways[1].label
                toggle = called("toggle", toggles[sets.control].label)
                sentence = (
                    f"The middle of {toggle} is {called('way', middle)}, and not the default of"
                    f" {called('selector', item.label)}."
                )
                yield Diagnostic(RULE, sentence, item.place, subject=item.name)
