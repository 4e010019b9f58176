"""Taps whose exact arithmetic does not fit the widest integers."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.tap_rules import with_tap
from paramc.check.words import called
from paramc.model.product import Product
from paramc.model.tap_arithmetic import tap_arithmetic
from paramc.text.diagnostic import Diagnostic, Rule, Severity

_BEAT = 'selector beat "Beat" {{ way whole "1" = 1  way odd "Odd" = {}  default whole }}\n'
_TIME = 'param time "Time" { range 20 ms .. 1200 ms  step 1 ms  default 400 ms }\n'
_TAP = "tap BEAT sets time by beat { taps 3  gap 2 s  fold halve }"

RULE = Rule(
    "tap-too-fine",
    Severity.STOP,
    "The firmware turns taps into a time in exact integers of at most 64 bits. The shares of a beat, the"
    " step and the ends of the range have so little in common that their products do not fit.",
    with_tap(_TAP, _TIME + _BEAT.format("1/123456789012345678")),
    with_tap(_TAP, _TIME + _BEAT.format("1/3")),
)


def check(product: Product) -> Iterator[Diagnostic]:
    tap = product.tap
    if tap is not None and not tap_arithmetic(product, tap).fits:
        sentence = f"The taps of {called('param', product.item(tap.item).label)} need more than 64 bits."
        yield Diagnostic(RULE, sentence, tap.place, try_="rounder shares of a beat, or a coarser step",
                         subject=tap.item)  # fmt: skip
