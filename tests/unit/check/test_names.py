"""Names: their form, given once, and what C cannot take."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from paramc import emit
from paramc.check.c_names import CONSTANTS, ITEM_CONSTANTS, TAKEN
from paramc.check.example import changed, followed_by
from paramc.check.nearest import Nearest
from tests.unit.check.told import only, told


def _flag(name: str) -> str:
    return followed_by(f'flag {name} "Flag" {{ default off }}')


@pytest.mark.parametrize("name", ["a", "a1", "a_b", "a" * 20, "ratio", "sines", "q", "values"])
def test_names(name: str) -> None:
    assert told(_flag(name)) == []


@pytest.mark.parametrize("name", [
    "a" * 21, "a" * 60_000, "_a", "a_", "_", "a__b", "ms", "s", "x", "tap", "taps", "cent", "octaves", "deg",
    "value", "ln", "min",
])
def test_names_of_a_wrong_form(name: str) -> None:
    found = only(_flag(name))
    assert found.rule.name == "name-form"
    assert 'flag "Flag"' in found.sentence
    assert len(found.sentence) < 200


@pytest.mark.parametrize("text", [
    changed("doorbell", "door__bell"),
    changed("mode main", "mode main_"),
    changed("LOUD \"Loud\"", "LOUD_ \"Loud\"").replace("LOUD sets", "LOUD_ sets"),
    followed_by('selector shape "Shape" { way deg "Degrees"  way sine "Sine"  default sine }'),
])
def test_all_kinds_of_name_have_that_form(text: str) -> None:
    assert told(text) == ["name-form"]


@pytest.mark.parametrize("name", ["A", "V", "Q", "BPM"])
def test_a_control_may_look_like_a_unit(name: str) -> None:
    assert told(changed("LOUD \"Loud\"", f"{name} \"Loud\"").replace("LOUD sets", f"{name} sets")) == []


def test_names_given_twice_tell_both_places() -> None:
    found = only(_flag("level"))
    assert found.rule.name == "name-twice"
    assert found.sentence == 'The name level is given to param "Level" and again to flag "Flag".'
    assert found.place is not None and found.place.line == 14
    assert [mark.span.line for mark in found.also] == [12]


def test_each_kind_of_name_has_its_own_space() -> None:
    assert told(
        followed_by(
            'flag main "Main" { default off }',
            'mode level { enter jumper "JP1" }',
            'selector one "One" { way level "Level"  way main "Main"  default main }',
            'selector two "Two" { way level "Level"  way main "Main"  default main }',
        )
    ) == []


def test_ways_of_one_selector_have_their_own_names() -> None:
    text = followed_by('selector one "One" { way a "A"  way b "B"  way a "C"  default b }')
    assert "name-twice" in told(text)


# That the keywords are keywords is asked of compilers in test_c_words.py.
@pytest.mark.parametrize("word", sorted(set(TAKEN) - {"int8_t", "uint8_t"}))
def test_words_that_c_or_records_have_taken(word: str) -> None:
    assert told(_flag(word)) == ["c-word"]


@pytest.mark.parametrize("word", ["int", "class", "final", "name", "slot", "import"])
def test_keywords_of_c_and_cpp_are_among_them(word: str) -> None:
    # final and import are keywords in some places only and can be members.
    assert told(_flag(word)) == ([] if word in ("final", "import") else ["c-word"])


def test_ways_and_modes_may_be_called_like_keywords() -> None:
    assert told(
        followed_by(
            'selector shape "Shape" { way int "Int"  way new "New"  default int }',
            'mode class { enter jumper "JP1" }',
        )
    ) == []


_MEASURED = changed("adc 10 bits", "adc 10 bits  measured")


@pytest.mark.parametrize("name", ["loud_low", "loud_high", "loud_ends", "loud_measured"])
def test_measured_ends_have_names_too(name: str) -> None:
    flag = f'flag {name} "Flag" {{ default off }}\n'
    assert told(_MEASURED + flag) == ["c-name-clash"]
    assert told(followed_by(flag)) == []


def test_the_measured_bit_of_a_trim_has_a_name_too() -> None:
    trim = 'trim loud "Loud" { range -10 % .. 10 %  step 1 %  nominal 0 %  safe 0 % }\n'
    assert told(followed_by(trim)) == []
    assert told(_MEASURED + trim) == ["c-name-clash"]
    assert told(followed_by(trim, 'flag loud_measured "Flag" { default off }')) == ["c-name-clash"]


def test_constants_that_fall_together_in_capitals() -> None:
    found = only(
        followed_by(
            'selector mod "Mod" { way shape_sine "Sine"  way off "Off"  default off }',
            'selector mod_shape "Shape" { way sine "Sine"  way saw "Saw"  default saw }',
        )
    )
    assert found.rule.name == "c-name-clash"
    assert "DB_MOD_SHAPE_SINE" in found.sentence


@pytest.mark.parametrize(("blocks", "constant"), [
    ('selector lamp "Lamp" { way on "On"  way dark "Dark"  default on }', "DB_LAMP_ON"),
    ('selector deed "Deed" { way none "None"  way flip "Flip"  default none }', "DB_DEED_FLIP"),
    ('selector mode "Mode" { way main "Main"  way other "Other"  default main }', "DB_MODE_MAIN"),
    ('selector label "Label" { way level "Level"  way other "Other"  default other }', "DB_LABEL_LEVEL"),
    ('selector codes "Codes" { way level "Level"  way other "Other"  default other }', "DB_CODES_LEVEL"),
    ('selector control "Control" { way push "Push"  way other "Other"  default other }', "DB_CONTROL_PUSH"),
    ('selector ends "Ends" { way loud "Loud"  way other "Other"  default other }', "DB_ENDS_LOUD"),
])
def test_constants_that_are_there_anyway(blocks: str, constant: str) -> None:
    found = only(followed_by(blocks))
    assert found.rule.name == "c-name-clash"
    assert constant in found.sentence


def test_every_constant_of_two_words_in_the_templates_is_known() -> None:
    templates = Path(emit.__file__).parent / "templates"
    text = "".join(file.read_text(encoding="utf-8") for file in sorted(templates.iterdir()))
    defined = re.findall(r"#\s*define P_([A-Z0-9_]+?_?)(\{\{ [a-z.]+ \}\})?[ (\n]", text)
    fixed = {name for name, more in defined if not more and "_" in name and not name.endswith("_")}
    first_words = {name.rstrip("_") for name, more in defined if more}
    assert fixed == CONSTANTS
    assert first_words == {*ITEM_CONSTANTS, "CONTROL", "ENDS", "MODE", "JUMPER", "RECALL", "FOOT"}


def test_a_constant_that_stdint_may_define() -> None:
    text = changed("prefix db", "prefix int") + (
        'selector gain "Gain" { way max "Most"  way other "Other"  default other }\n'
    )
    assert told(text) == ["name-form"]
    assert told(text.replace("way max", "way most")) == []
    width = text.replace("way max", "way width")
    assert told(width) == ["c-name-clash"]
    assert told(width.replace("prefix int", "prefix db")) == []


@pytest.mark.parametrize(("word", "near"), [
    ("repeat", "repeats"), ("repaets", "repeats"), ("repets", "repeats"), ("rebeats", "repeats"),
    ("time", "time"), ("tyme", "time"), ("low_pass", "lowpass"), ("mix", None), ("", None),
    ("x" * 1000, None),
])
def test_the_nearest_name(word: str, near: str | None) -> None:
    assert Nearest(["time", "repeats", "lowpass"]).to(word) == near


def test_names_of_one_letter_are_not_near_to_one_another() -> None:
    assert Nearest(["a"]).to("b") is None
