"""Texts made to hurt: large, repeated, contradictory. The answer is a finite list of sentences, soon."""

from __future__ import annotations

import time

import pytest

from paramc.check.example import DOORBELL, changed, followed_by
from tests.unit.check.told import checked

_SOON = 60.0
"""Seconds; each of these takes up to five, and many minutes where names are held one against another."""

_LINES = 8000
_STRETCH = 60_000
"""Characters without a brace that a file may have, with room."""


def _many(line: str) -> str:
    """A line with a brace in it, many times, each with a number of its own."""
    return "\n".join(line.format(number) for number in range(_LINES))


def _again(line: str) -> str:
    """The same words as often as may stand without a brace."""
    return line * (_STRETCH // len(line))


@pytest.mark.slow
@pytest.mark.parametrize("text", [
    followed_by(
        _many('flag f{0} "F" {{ default off }}'),
        *(f"mode m{n} {{ enter jumper \"J{n}\" {_again('LOUD sets g  ')} }}" for n in range(3)),
    ),
    followed_by(_many('mode m{0} {{ enter jumper "J{0}"  C{0} sets g{0} }}')),
    followed_by(_many('flag f{0} "F" {{ default off }}'), *(
        f'mode m{n} {{ LOUD sets f{n}x  UP{n} sets f1{n}2{n} }}' for n in range(1900)
    )),
    followed_by("mode deep {", _again("press PUSH does bypass\n"), "}"),
    changed("revision 1", _again("revision 1 ")),
    changed("revision 1", 'revision 1  hardware "B"' + _again(', "B"')),
    changed("adc 10 bits", _again("adc 10 bits ")),
    changed('lamp GLOW "Glow"', 'lamp GLOW "Glow"' + _again(', GLOW "Glow"')),
    changed("state 4 copies", "state " + _again("4 copies ")),
    changed("adc 10 bits", "adc 10 bits " + _again("after recall meet ")),
    followed_by(_again('accept rule-a because "x"\n')),
    followed_by(_again("retired old since 2\n")),
    changed('"Doorbell"', '"' + "D" * _STRETCH + '"').replace("revision 1", "revision 0"),
    changed("doorbell", "d" * _STRETCH),
    followed_by(_many("mode m{0} {{ enter press PUSH }}")),
    followed_by(_many('preset {0} "P" {{ lever 3 %  lewel 3 % }}')),
], ids=[
    "unknown items", "unknown controls", "nearly known items", "one gesture", "one statement", "hardware",
    "adc", "one lamp", "copies", "recalls", "accepts", "retired", "a long label", "a long name", "ways in",
    "presets",
])  # fmt: skip
def test_many_mistakes_end_soon(text: str) -> None:
    start = time.monotonic()
    found = checked(text).diagnostics
    assert time.monotonic() - start < _SOON
    assert found
    assert all(len(one.sentence) < 1000 and len(one.try_) < 1000 for one in found)


def test_deep_and_long_numbers_are_compared_exactly() -> None:
    digits = "9" * 40
    text = changed("brown-out 2.7 V", f"brown-out {digits} V").replace("0x1234", "0x" + "F" * 38)
    assert {one.rule.name for one in checked(text).diagnostics} == {"out-of-bounds"}


def test_a_file_of_nothing_but_a_comment() -> None:
    assert [one.rule.name for one in checked("# nothing\n").diagnostics] == ["unsaid"] * 3


def test_the_same_text_gives_the_same_sentences() -> None:
    text = DOORBELL.replace("LOUD", "LOWD").replace("step 1 %", "step 7 %")
    first, second = checked(text).diagnostics, checked(text).diagnostics
    assert [one.sentence for one in first] == [one.sentence for one in second]
