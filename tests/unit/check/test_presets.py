"""Presets: numbers, settings, what one takes from another, names."""

from __future__ import annotations

import pytest

from paramc.check.example import changed, followed_by
from paramc.check.presets import LONGEST_NAME
from paramc.model.items import Note, Signal
from paramc.model.product import Preset
from paramc.text.diagnostic import Diagnostic
from tests.unit.check.told import checked, product_of, stops, told

ITEMS = (
    'param tone "Tone" { range -12 dB .. 12 dB  noon 0 dB  step 1 dB }',
    'selector size "Size" { way small "Small"  way large "Large"  default large }',
    'flag tails "Tails" { default on }',
    'flag deep "Deep" { default off  kept once }',
    'trim hum "Hum" { range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB }',
)
SLOTS = "slots spare 1"


def _text(*presets: str, slots: int = 8, names: int = 0) -> str:
    kept = f"{slots} {SLOTS}" + (f"  names {names} bytes" if names else "")
    return followed_by(*ITEMS, *presets).replace(f"2 {SLOTS}", kept).replace("256 bytes", "4096 bytes")


def presets(*written: str, names: int = 0) -> dict[int, Preset]:
    made = product_of(_text(*written, names=names)).presets
    assert [preset.number for preset in made] == sorted(preset.number for preset in made)
    return {preset.number: preset for preset in made}


def wrong(*written: str, slots: int = 8, names: int = 0) -> Diagnostic:
    [found] = checked(_text(*written, slots=slots, names=names)).diagnostics
    return found


def test_what_is_unsaid_is_the_default() -> None:
    made = presets('preset 1 "All at noon" { }')[1]
    # level at half travel, tone at its noon, size large, tails on; deep is kept once, hum a trim.
    assert made == Preset(1, "All at noon", (50, 12, 1, 1))
    assert made.place is not None and made.place.text == "1"


def test_every_kind_of_value() -> None:
    made = presets('preset 3 "A" { tails off  size small  tone -12 dB  level at 2:30 }')[3]
    assert made.codes == (75, 0, 0, 0)


def test_words_beside_a_preset() -> None:
    made = presets('preset 1 "A" { caution "Loud."  help "Try it." }')[1]
    assert made.notes == (Note(Signal.CAUTION, "Loud."), Note(Signal.HELP, "Try it."))


def test_presets_come_by_number_whatever_their_order() -> None:
    assert list(presets('preset 8 "H" { }', 'preset 1 "A" { }', 'preset 3 "C" { }')) == [1, 3, 8]


# ---- like


def test_like_takes_what_is_unsaid_from_the_other() -> None:
    made = presets(
        'preset 5 "Last" like 2 { tone 3 dB }',
        'preset 2 "Middle" like 1 { size small }',
        'preset 1 "First" { tone -6 dB  tails off }',
    )
    assert made[1].codes == (50, 6, 1, 0)
    assert (made[2].codes, made[2].like) == ((50, 6, 0, 0), 1)
    assert (made[5].codes, made[5].like) == ((50, 15, 0, 0), 2)


def test_a_chain_as_long_as_the_shelf() -> None:
    written = [f'preset {number} "P" like {number + 1} {{ }}' for number in range(1, 200)]
    made = product_of(_text(*written, 'preset 200 "P" { tone 3 dB }', slots=200)).presets
    assert len(made) == 200
    assert {preset.codes for preset in made} == {(50, 15, 1, 1)}


def test_like_a_preset_that_is_not_there() -> None:
    found = wrong('preset 3 "C" like 2 { }', 'preset 1 "A" { }')
    assert (found.rule.name, found.subject) == ("like-unknown", "preset 3")
    assert found.sentence == "Preset 3 is like preset 2, and there is none."
    assert found.because == ("The presets are 1 and 3.",)


@pytest.mark.parametrize(("written", "sentence"), [
    (['preset 1 "A" like 1 { }'], "Preset 1 is like itself."),
    (
        ['preset 3 "C" like 5 { }', 'preset 5 "E" like 7 { }', 'preset 7 "G" like 3 { }'],
        "The presets go round in a circle: preset 3 is like 5, preset 5 is like 7 and preset 7 is like 3.",
    ),
    (  # the way into the circle is no part of it
        [f'preset {one} "A" like {other} {{ }}' for one, other in ((1, 7), (7, 3), (3, 7), (2, 1))],
        "The presets go round in a circle: preset 3 is like 7 and preset 7 is like 3.",
    ),
])  # fmt: skip
def test_a_circle_is_told_once_with_its_round(written: list[str], sentence: str) -> None:
    for order in (written, written[::-1]):
        found = wrong(*order)
        assert (found.rule.name, found.sentence) == ("like-circle", sentence)


def test_two_circles_are_two_mistakes() -> None:
    pairs = ((1, 2), (2, 1), (3, 4), (4, 3))
    text = _text(*(f'preset {one} "A" like {other} {{ }}' for one, other in pairs))
    assert stops(text) == ["like-circle", "like-circle"]


# ---- what is wrong


@pytest.mark.parametrize("number", ["0", "9", "0x10", "999_999"])
def test_numbers_run_from_1_to_slots(number: str) -> None:
    found = wrong(f'preset {number} "A" {{ }}')
    assert found.rule.name == "out-of-bounds"
    assert found.sentence.startswith('The number of preset "A", ')


def test_a_number_given_twice() -> None:
    found = wrong('preset 1 "A" { }', 'preset 2 "B" { }', 'preset 1 "C" like 2 { }')
    assert found.sentence == 'There are two presets 1, "A" and "C".'
    assert found.try_ == 'preset 3 "C" like 2'
    assert found.place is not None and found.place.text == "1"
    assert wrong('preset 1 "A" { }', 'preset 1 "B" { }', slots=1).try_ == ""


def test_free_numbers_are_proposed_once_each() -> None:
    found = checked(_text('preset 1 "A" { }', 'preset 1 "B" { }', 'preset 1 "C" { }')).diagnostics
    assert [one.try_ for one in found] == ['preset 2 "B"', 'preset 3 "C"']


def test_a_setting_given_twice() -> None:
    found = wrong('preset 1 "A" { tone 1 dB  tone 1 dB }')
    assert (found.rule.name, found.sentence) == ("said-twice", "Preset 1 sets tone twice.")


def test_an_unknown_item() -> None:
    found = wrong('preset 1 "A" { tome 1 dB }')
    assert (found.rule.name, found.try_) == ("unknown-name", "tone")
    assert found.sentence == "Preset 1 speaks of an item tome, and there is none."


def test_what_belongs_to_no_preset() -> None:
    found = wrong('preset 1 "A" { deep on }')
    assert found.sentence == 'Preset 1 sets flag "Deep", which is kept once for all presets.'
    assert wrong('preset 1 "A" { hum 1 dB }').rule.name == "preset-trim"


def test_everything_wrong_is_told() -> None:
    text = _text(
        'preset 1 "A" { tone 0.5 dB  size medium  tails 3 }', 'preset 2 "B" like 1 { level 101 % }', names=8
    )
    assert told(text) == ["value-off-grid", "way-unknown", "value-kind", "value-outside-range"]
    assert {one.subject for one in checked(text).diagnostics} == {"preset 1", "preset 2"}


# ---- names


@pytest.mark.parametrize(("name", "size"), [
    ("A", 1), ("Seasick", 7), ("Größe", 7), ("低音", 6), ("🎸", 4), (r"a\"b", 3), ("", 0),
])  # fmt: skip
def test_bytes_are_counted_after_encoding(name: str, size: int) -> None:
    if size:
        assert presets(f'preset 1 "{name}" {{ }}', names=size)[1]
        if size > 1:
            found = wrong(f'preset 1 "{name}" {{ }}', names=size - 1)
            assert found.rule.name == "preset-name"
            assert f"has {size} bytes in UTF-8, and {size - 1} are the most" in found.sentence
    else:
        assert presets(f'preset 1 "{name}" {{ }}', names=1)[1].label == ""


@pytest.mark.parametrize(("name", "most", "shorter"), [
    ("Seasick lounge", 8, "Seasick"), ("Größe", 3, "Gr"), ("低音低音", 8, "低音"),
    (r"ab\"\\cd", 4, r"ab\"\\"),
])  # fmt: skip
def test_the_proposed_name_fits(name: str, most: int, shorter: str) -> None:
    found = wrong(f'preset 1 "{name}" {{ }}', names=most)
    assert found.try_ == f'preset 1 "{shorter}"'
    assert presets(f"{found.try_} {{ }}", names=most)[1]


def test_names_that_are_not_kept_have_a_bound_all_the_same() -> None:
    assert presets(f'preset 1 "{"a" * LONGEST_NAME}" {{ }}')[1]
    assert wrong(f'preset 1 "{"a" * (LONGEST_NAME + 1)}" {{ }}').rule.name == "preset-name"


def test_numbers_and_units_of_settings_convert() -> None:
    text = changed("range 0 % .. 100 %  step 1 %", "range 20 ms .. 1200 ms  step 1 ms")
    text += 'preset 1 "A" { level 0.5 s }\n'
    assert product_of(text).presets[0].codes == (480,)
