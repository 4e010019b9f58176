"""A knob whose noise covers several codes of its item."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import sub

from paramc.check.dialled import Dialled
from paramc.check.example import changed
from paramc.check.values import code_text
from paramc.check.words import called, counted
from paramc.model.items import Param, Scaled, Trim, kind_word
from paramc.model.panel import Knob
from paramc.model.product import Product
from paramc.model.scale import Stepped
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity


def _noisy(step: str) -> str:
    return changed("adc 10 bits", "adc 10 bits  noise 5 counts").replace("step 1 %", step)


MOST_STEPS = 2
"""Steps that one width of noise may cover: rounding alone can make two of what is worth one."""

RULE = Rule(
    "steep-knob",
    Severity.MEND,
    "A reading wavers by the noise of its knob, and where that is worth more than a step, a step is finer"
    " than anybody can set: the code stays still, because it has its hysteresis, and then leaps. The message"
    " says how many steps one width of the noise covers at most, and names the first code where it is more"
    " than two. A coarser step, a gentler taper or a quieter reading helps.",
    _noisy("step 0.2 %"),
    _noisy("step 1 %"),
)


def check(product: Product, dialled: Dialled) -> Iterator[Diagnostic]:
    for item in product.items:
        told: set[tuple[object, ...]] = set()
        for knob in product.knobs_that_set(item.name):
            read = (knob.adc_bits, knob.ends, knob.noise, knob.law)
            if isinstance(item, Param | Trim) and read not in told:
                told.add(read)
                yield from _steep(item, knob, dialled.codes(item, knob))


def _steep(item: Scaled, knob: Knob, codes: Sequence[int]) -> Iterator[Diagnostic]:
    # Codes rise with travel, so the difference is how many steps lie in one width of noise.
    covered = list(map(sub, codes[knob.noise :], codes))
    most = max(covered, default=0)
    if most <= MOST_STEPS:
        return
    first = codes[next(at for at, steps in enumerate(covered) if steps > MOST_STEPS)]
    worst = codes[covered.index(most)]
    begins = f"The first code where it covers more than {MOST_STEPS} is {first}, {code_text(item, first)}."
    coarser = "a coarser step" if isinstance(item.scale.grid, Stepped) else "fewer bits in coded"
    yield Diagnostic(
        RULE,
        f"One width of the noise of {called('knob', knob.label)}, {counted(knob.noise, 'count')}, covers"
        f" {most} steps of {called(kind_word(item), item.label)} at code {worst}, {code_text(item, worst)}.",
        item.place,
        also=() if knob.place is None else (Mark(knob.place, "the knob"),),
        because=(begins,),
        try_=f"{coarser}, a gentler taper, or a reading with less noise",
        subject=item.name,
    )
