"""Words of the language that no version can build yet."""

from __future__ import annotations

import pytest

from paramc.check.example import changed, followed_by
from tests.unit.check.told import checked, only


@pytest.mark.parametrize(("text", "word", "place"), [
    (changed("adc 10 bits", "adc 10 bits  after recall leap"), "after recall", "after recall leap"),
    (changed("adc 10 bits", "adc 10 bits  learned"), "learned", "learned"),
    (changed("adc 10 bits", "adc 10 bits  unplugged 1020 .. 1023"), "unplugged", "unplugged 1020 .. 1023"),
    (
        changed('lamp GLOW "Glow"', 'lamp GLOW "Glow"  pedal EXP "Exp" { adc 12 bits learned }'),
        "pedal",
        "pedal",
    ),
    (changed("LOUD sets level", "LOUD sets level from level to level"), "from ... to", "from level to level"),
    (changed("press PUSH does bypass", "press PUSH does learn LOUD"), "learn", "learn LOUD"),
    (followed_by("tap PUSH sets level { taps 3 }"), "tap", "tap"),
    (followed_by("midi { channel 1  cc 20 sets level }"), "midi", "midi"),
    (followed_by('promise "half" at noon level <= 50 %'), "promise", "promise"),
    (followed_by('promise "half" in every preset is level / 2 <= 50'), "promise", "promise"),
    (followed_by('borrow "house.paramc"'), "borrow", "borrow"),
])
def test_a_word_that_waits_is_told_once_with_its_place(text: str, word: str, place: str) -> None:
    found = only(text)
    assert found.rule.name == "not-yet"
    assert f'"{word}"' in found.sentence
    assert found.place is not None and found.place.text == place


def test_a_control_that_sets_several_items_by_a_selector() -> None:
    text = changed("LOUD sets level", "LOUD sets level, bright by which") + (
        'flag bright "Bright" { default off }\n'
        'selector which "Which" { way a "A"  way b "B"  default a }\n'
    )
    found = only(text)
    assert found.rule.name == "not-yet"
    assert found.place is not None and found.place.text == "LOUD sets level, bright by which"


def test_each_use_is_told() -> None:
    text = changed("adc 10 bits", "adc 10 bits  learned  after recall meet")
    text += "midi { channel 1  cc 20 sets level }\n"
    assert [one.rule.name for one in checked(text).diagnostics] == ["not-yet"] * 3


def test_the_names_of_a_borrowed_file_are_not_called_unknown() -> None:
    text = changed("LOUD sets level", "LOUD sets elsewhere") + 'borrow "house.paramc"\n'
    assert only(text).rule.name == "not-yet"
