"""A knob on which some codes of its item cannot be dialled."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from paramc.check.dialled import Dialled
from paramc.check.example import changed
from paramc.check.values import code_text
from paramc.check.words import called
from paramc.model.items import Param, Trim, kind_word
from paramc.model.product import Product
from paramc.model.scale import Stepped
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity

RULE = Rule(
    "codes-out-of-reach",
    Severity.MEND,
    "Where the taper is steep, one count of the converter passes over several codes, and those between are"
    " values that no player can dial: only presets have them. The message names the first one. A coarser"
    " step, a gentler taper or a converter of more bits brings all within reach.",
    changed("step 1 %", "step 0.05 %"),
    changed("step 1 %", "step 0.2 %"),
)


def check(product: Product, dialled: Dialled) -> Iterator[Diagnostic]:
    for item in product.items:
        knobs = product.knobs_that_set(item.name)
        if not knobs or not isinstance(item, Param | Trim):
            continue
        along = [dialled.codes(item, knob) for knob in knobs]
        missing = set(range(item.codes)).difference(*along)
        if not missing:
            continue
        first = min(missing)
        by = called("knob", knobs[0].label) if len(knobs) == 1 else "any knob"
        widest = max(other - one for codes in along for one, other in pairwise(codes))
        coarser = "a coarser step" if isinstance(item.scale.grid, Stepped) else "fewer bits in coded"
        yield Diagnostic(
            RULE,
            f"Of the {item.codes} codes of {called(kind_word(item), item.label)}, {len(missing)}"
            f" {'is' if len(missing) == 1 else 'are'} out of the reach of {by}; the first is code {first},"
            f" {code_text(item, first)}.",
            item.place,
            also=tuple(Mark(knob.place, "the knob") for knob in knobs[:1] if knob.place is not None),
            because=(f"At the steepest place one count of the converter moves the code by {widest}.",),
            try_=f"{coarser}, a gentler taper, or a converter of more bits",
            subject=item.name,
        )
