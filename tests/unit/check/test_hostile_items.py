"""Items and presets made to hurt: numbers without measure, thousands of mistakes, words without end."""

from __future__ import annotations

import time

import pytest

from paramc.check.example import followed_by
from tests.unit.check.told import checked

_SOON = 20.0
"""Seconds; each of these takes one or two."""

_NINES = "9" * 39
_TINY = "0." + "0" * 35 + "1"
_GAIN = f"engine q15 as gain within {_TINY} dB"
_WAYS = " ".join(f'way w{number} "W" = {number}' for number in range(2500))


def _params(count: int, lines: str) -> str:
    return followed_by(*(f'param a{number} "A" {{ {lines} }}' for number in range(count)))


def _presets(count: int, lines: str) -> str:
    return followed_by(*(f'preset {number} "P" {lines}' for number in range(count)))


@pytest.mark.slow
@pytest.mark.parametrize("text", [
    _params(2000, "range 0 ms .. 10 ms  step 3 ms"),
    _params(1000, f"range 0 ms .. {_NINES} ms  step {_TINY} ms"),
    _params(1000, f"range 1 ms .. {_NINES} ms  noon 0 ms  coded 16 bits"),
    _params(1000, f"range 1 ms .. {_NINES} ms  noon 3 ms  taper geometric  coded 16 bits"),
    _params(20, f"range 1 Hz .. {_NINES} Hz  noon 2 Hz  coded 16 bits  engine q15 where 1 is {_TINY} Hz"),
    _params(20, f"range -{_NINES} dB .. -1 dB  noon -7 dB  coded 16 bits  {_GAIN}"),
    _params(2, f"range -1000 dB .. 0 dB  noon -7 dB  coded 16 bits  {_GAIN}"),
    _params(1, "range 0 ms .. 65 s  " * 3000),
    followed_by('param a "A" {', f"engine u{_NINES} as samples at 1 Hz", "}"),
    followed_by(f'selector a "A" {{ {_WAYS}  default x }}'),
    followed_by('selector a "A" {', f'way {"w" * 30_000} "W"  way v "V"  default {"w" * 29_000} }}'),
    _presets(3000, "like 7 { level at 7:00  level 3 ms }"),
    followed_by('preset 1 "P" {', *(f"lev{number} 3 %  level 3 %" for number in range(2000)), "}"),
    followed_by('preset 1 "P" {', f'{"x" * 60_000} 3 %', "}"),
    followed_by(f'preset 1 "{"P" * 60_000}" {{ }}', f'preset 1 "{"Q" * 60_000}" {{ }}'),
], ids=[
    "no whole steps", "more codes than atoms", "noon", "claims", "overflow", "gain beyond", "gain",
    "one range", "format", "ways", "long ways", "presets", "settings", "a long item", "long names",
])  # fmt: skip
def test_the_answer_is_a_finite_list_of_sentences_soon(text: str) -> None:
    start = time.monotonic()
    found = checked(text).diagnostics
    assert time.monotonic() - start < _SOON
    assert found
    for one in found:
        assert all(len(words) < 1000 for words in (one.sentence, one.try_, *one.because))
