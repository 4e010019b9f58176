"""Written values and the codes that they become."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.check.presets import Taken, read_presets
from paramc.check.quantities import Asked, literal, measures, short_literal
from paramc.check.values import clock_text, code_text, item_code, near_step, neighbours
from paramc.model.items import Flag, Item, Param, Selector, Way
from paramc.model.scale import Coded, Geometric, Scale, Stepped, Straight, ThreePoint
from paramc.numbers.real import power
from paramc.numbers.units import SPELLINGS
from paramc.numbers.wording import real_text
from paramc.syntax import nodes
from paramc.syntax.parse import parse
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Source
from tests.unit.check.told import only, product_of, stops

MS, DB, DBU, RATIO, CENTS, OCTAVES, KOHM = (
    SPELLINGS[symbol] for symbol in ("ms", "dB", "dBu", ":1", "cents", "octaves", "kohm")
)


def value(text: str) -> nodes.Value:
    """What a preset writes as a value."""
    module = parse(Source("value", f'preset 1 "x" {{ item {text} }}')).value
    assert module is not None
    [preset] = module.blocks
    assert isinstance(preset, nodes.Preset)
    [setting] = preset.lines
    assert isinstance(setting, nodes.Setting)
    return setting.value


def read(text: str, item: Item, turn: int | None = None) -> tuple[int | None, str | None, list[Diagnostic]]:
    """The code of a value, what a note says of it, and what is wrong with it."""
    found: list[Diagnostic] = []
    degrees = None if turn is None else Fraction(turn)
    stored = item_code(value(text), item, degrees, Asked("value", "item"), found)
    return (None, None, found) if stored is None else (stored.code, stored.taken, found)


def param(first: str, last: str, step: str, *, unit: str = "ms", off: bool = False) -> Param:
    scale = Scale(SPELLINGS[unit], Fraction(first), Fraction(last), Straight(), Stepped(Fraction(step)), off)
    return Param("item", "Item", scale, 0)


TIME = param("0.5", "80", "0.1")
LEVEL = param("-60", "12", "0.5", unit="dB", off=True)
FALLING = param("-6", "-42", "0.5", unit="dBu")
CODED = Param("item", "Item", Scale(MS, Fraction(1), Fraction(100), Geometric(), Coded(4)), 0)
SIZE = Selector("item", "Item", (Way("small", "Small"), Way("large", "Large"), Way("off", "None")), 1)
TAILS = Flag("item", "Item", 1)


@pytest.mark.parametrize(("text", "item", "code"), [
    ("0.5 ms", TIME, 0),
    ("8 ms", TIME, 75),
    ("80 ms", TIME, 795),
    ("0.08 s", TIME, 795),
    ("8000 us", TIME, 75),
    ("-6 dBu", FALLING, 0),
    ("-6.5 dBu", FALLING, 1),
    ("-42 dBu", FALLING, 72),
    ("off", LEVEL, 0),
    ("-59.5 dB", LEVEL, 1),
    ("12 dB", LEVEL, 144),
    ("small", SIZE, 0),
    ("off", SIZE, 2),
    ("on", TAILS, 1),
    ("off", TAILS, 0),
])  # fmt: skip
def test_a_value_on_the_grid_is_stored_as_it_is(text: str, item: Item, code: int) -> None:
    assert read(text, item) == (code, None, [])


@pytest.mark.parametrize(("text", "item", "said", "try_"), [
    ("8.03 ms", TIME, "lies between two steps, 8 ms and 8.1 ms", "item 8 ms"),
    ("8.05 ms", TIME, "8 ms and 8.1 ms", "item 8.1 ms"),  # a tie goes to the even code: 8.1 ms is code 76
    ("0.00803 s", TIME, "The value, 0.00803 s, lies between two steps, 8 ms and 8.1 ms", "item 8 ms"),
    ("-6.2 dBu", FALLING, "-6 dBu and -6.5 dBu", "item -6 dBu"),
    ("-59.9 dB", LEVEL, "off and -59.5 dB", "item -59.5 dB"),
])  # fmt: skip
def test_between_two_steps_both_neighbours_are_named(text: str, item: Item, said: str, try_: str) -> None:
    code, _, [found] = read(text, item)
    assert (code, found.rule.name) == (None, "value-off-grid")
    assert said in found.sentence
    assert found.try_ == try_


@pytest.mark.parametrize(("text", "item", "nearest"), [
    ("0.4 ms", TIME, "0.5 ms"),
    ("90 ms", TIME, "80 ms"),
    ("0 dBu", FALLING, "-6 dBu"),
    ("-43 dBu", FALLING, "-42 dBu"),
    ("-61 dB", LEVEL, "off"),
    ("13 dB", LEVEL, "12 dB"),
    ("0.9 ms", CODED, "1 ms"),
])  # fmt: skip
def test_outside_the_range_both_ends_and_the_nearest_are_named(text: str, item: Item, nearest: str) -> None:
    assert isinstance(item, Param)
    code, _, [found] = read(text, item)
    assert (code, found.rule.name) == (None, "value-outside-range")
    for end in (item.scale.first, item.scale.last):
        assert real_text(end, item.scale.unit) in found.sentence
    assert found.because == (f"The nearest is {nearest}.",)
    assert found.try_ == f"item {nearest}"


def test_the_end_that_means_off_is_no_value() -> None:
    code, _, [found] = read("-60 dB", LEVEL)
    assert (code, found.rule.name, found.try_) == (None, "value-off-grid", "item off")
    assert found.because == ("The first value is -59.5 dB.",)


def test_off_needs_off_at_stop() -> None:
    code, _, [found] = read("off", TIME)
    assert (code, found.rule.name, found.try_) == (None, "no-off", "item 0.5 ms")


def test_on_coded_grids_the_nearest_code_is_taken_and_told() -> None:
    # Geometric, 1 ms to 100 ms in 14 parts: code 7 is noon, 10 ms; code 6 is 100^(6/14) = 7.1969 ms.
    assert read("10 ms", CODED) == (7, None, [])
    assert read("1 ms", CODED) == (0, None, [])
    assert read("100 ms", CODED) == (14, None, [])
    code, taken, found = read("7 ms", CODED)
    assert (code, found) == (6, [])
    assert taken is not None and taken.startswith("about 7.1968")


def test_nearness_on_coded_grids_is_counted_in_travel() -> None:
    # Half way in travel between codes 6 and 7 is 100^(13/28) = 8.4834 ms; half way in value 8.5984 ms.
    assert read("8.48 ms", CODED)[0] == 6
    assert read("8.49 ms", CODED)[0] == 7


@pytest.mark.parametrize(("text", "item", "rule", "try_"), [
    ("small", TIME, "value-kind", "item 0.5 ms"),
    ("on", TIME, "value-kind", "item 0.5 ms"),
    ("3 ms", SIZE, "value-kind", "item large"),
    ("at 2:30", SIZE, "value-kind", "item large"),
    ("smal", SIZE, "way-unknown", "item small"),
    ("medium", SIZE, "way-unknown", "item large"),
    ("3", TAILS, "value-kind", "item on"),
    ("small", TAILS, "value-kind", "item on"),
    ("8 Hz", TIME, "wrong-unit", ""),
    ("8", TIME, "wrong-unit", "item 8 ms"),
    ("-24 dB", FALLING, "wrong-unit", ""),
    ("-24 dBV", FALLING, "wrong-unit", ""),
])  # fmt: skip
def test_another_kind_of_value_is_refused(text: str, item: Item, rule: str, try_: str) -> None:
    code, _, [found] = read(text, item)
    assert (code, found.rule.name, found.try_) == (None, rule, try_)


def test_mixing_dimensions_names_both() -> None:
    [found] = read("8 Hz", TIME)[2]
    assert "frequency" in found.sentence and "time" in found.sentence
    [found] = read("8", TIME)[2]
    assert "plain number" in found.sentence and "time" in found.sentence


# ---- clock positions


@pytest.mark.parametrize(("clock", "turn", "code"), [
    ("7:00", 300, 0), ("9:30", 300, 25), ("12:00", 300, 50), ("2:30", 300, 75), ("5:00", 300, 100),
    ("7:30", 270, 0), ("12:00", 270, 50), ("4:30", 270, 100), ("12:27", 270, 55),
])  # fmt: skip
def test_a_clock_position_is_travel_on_the_knobs_turn(clock: str, turn: int, code: int) -> None:
    # An hour is 30 degrees: 150 degrees lie between noon and either end of a turn of 300.
    share = param("0", "100", "1", unit="%")
    assert read(f"at {clock}", share, turn)[0] == code


def test_a_clock_position_is_told_with_what_it_stores() -> None:
    assert read("at 12:00", TIME, 300) == (398, "40.3 ms", [])
    assert read("at 7:00", LEVEL, 300) == (0, "off", [])
    assert read("at 12:00", TIME) == (398, "40.3 ms", [])  # no knob sets it: 300 degrees


@pytest.mark.parametrize(("clock", "end"), [("7:00", "7:30"), ("7:29", "7:30"), ("5:00", "4:30")])
def test_outside_the_turn_is_refused(clock: str, end: str) -> None:
    code, _, [found] = read(f"at {clock}", TIME, 270)
    assert (code, found.rule.name, found.try_) == (None, "clock-outside-turn", f"item at {end}")
    assert "7:30 to 4:30" in found.sentence
    assert found.because == ("The knob turns 270 degrees.",)


@pytest.mark.parametrize(("clock", "way"), [
    ("7:00", 0), ("10:19", 0), ("10:21", 1), ("1:39", 1), ("1:41", 2), ("5:00", 2),
])  # fmt: skip
def test_a_knob_on_a_selector_has_equal_zones(clock: str, way: int) -> None:
    # 300 degrees in three zones of 100: the borders are 50 degrees, 1 h 40 min, from noon.
    code, taken, found = read(f"at {clock}", SIZE, 300)
    assert (code, taken, found) == (way, code_text(SIZE, way), [])


def test_a_knob_on_a_flag_has_two_zones() -> None:
    assert read("at 11:59", TAILS, 300)[:2] == (0, "off")
    assert read("at 12:00", TAILS, 300)[:2] == (1, "on")


def test_clock_text() -> None:
    assert [clock_text(Fraction(k, 4)) for k in range(5)] == ["7:00", "9:30", "12:00", "2:30", "5:00"]
    assert clock_text(Fraction(1), Fraction("279.5")) == "4:39"
    assert clock_text(Fraction(0), Fraction("279.5")) == "7:21"


# ---- texts


@pytest.mark.parametrize(("number", "unit", "text"), [
    ("8", MS, "8 ms"), ("-24.5", DBU, "-24.5 dBu"), ("4", RATIO, "4:1"), ("-4", RATIO, "-4 x"),
    ("1/12", OCTAVES, "100 cents"), ("1/3", CENTS, None), ("1/3", KOHM, None),
])  # fmt: skip
def test_a_proposal_can_stand_in_a_source(number: str, unit: object, text: str | None) -> None:
    assert literal(Fraction(number), unit) == text  # type: ignore[arg-type]


def test_no_proposal_is_longer_than_a_literal_may_be() -> None:
    assert literal(Fraction(1, 10**38), MS) is not None
    assert literal(Fraction(1, 10**39), MS) is None


def test_the_shortest_proposal_inside_its_bounds() -> None:
    third = power(Fraction(10), Fraction(1, 3))  # 2.15443469...
    assert short_literal(third, Fraction(2), Fraction(3), MS) == "2 ms"
    assert short_literal(third, Fraction("2.15"), Fraction("2.16"), MS) == "2.15 ms"
    assert short_literal(third, Fraction("2.1544"), Fraction("2.1545"), MS) == "2.1544 ms"
    assert short_literal(third, Fraction(3), Fraction(4), MS) is None


def test_numbers_in_messages() -> None:
    assert real_text(Fraction(7, 2), RATIO) == "3.5:1"
    assert real_text(power(Fraction(10), Fraction(1, 2)), RATIO) == "about 3.16228:1"
    assert real_text(power(Fraction(10), Fraction(1, 2)), MS) == "about 3.16228 ms"
    assert measures(SPELLINGS[""]) == "is a plain number"
    assert measures(MS) == "measures time"


def test_neighbours_of_a_number_that_is_no_fraction() -> None:
    scale = Scale(MS, Fraction(1), Fraction(10), Geometric(), Stepped(Fraction(1)))
    root = scale.at(Fraction(1, 2))
    assert (neighbours(root, scale), near_step(root, scale)) == ("3 ms and 4 ms", "3 ms")
    falling = Scale(MS, Fraction(10), Fraction(1), ThreePoint(Fraction(3)), Stepped(Fraction(1)))
    assert neighbours(falling.at(Fraction(1, 4)), falling) == "6 ms and 5 ms"


# ---- in a whole product


def test_a_preset_uses_the_turn_of_the_knob_that_sets_the_item() -> None:
    turned = changed("adc 10 bits", "adc 10 bits  turn 270 deg")
    text = 'preset 1 "A" { level at 4:30 }\n'
    assert product_of(turned + text).presets[0].codes == (100,)
    assert product_of(DOORBELL + text).presets[0].codes == (95,)
    assert stops(turned + text.replace("4:30", "5:00")) == ["clock-outside-turn"]


def test_a_default_at_a_clock_position() -> None:
    turned = changed("adc 10 bits", "adc 10 bits  turn 270 deg")
    turned = turned.replace("step 1 %", "step 1 %  default at 4:30")
    assert product_of(turned).items[0].default == 100


def test_the_message_names_item_preset_and_both_neighbours() -> None:
    found = only(followed_by('preset 2 "A" { level 12.5 % }'))
    what = 'The value of param "Level" in preset 2, 12.5 %, lies between two steps, 12 % and 13 %.'
    assert found.sentence == what
    assert (found.subject, found.try_) == ("preset 2", "level 12 %")
    assert found.place is not None and found.place.text == "12.5 %"
    assert [mark.label for mark in found.also] == ['param "Level"']


def test_notes_say_what_is_stored() -> None:
    text = followed_by(
        'param rise "Rise" { range 1 ms .. 100 ms  taper geometric  coded 4 bits }',
        'preset 1 "A" { level at 12:20  rise 7 ms }',
        'preset 2 "B" { level 30 %  rise 10 ms }',
    )
    product = product_of(text)
    module = parse(Source("x", text)).value
    assert module is not None
    blocks = [block for block in module.blocks if isinstance(block, nodes.Preset)]
    notes: list[Taken] = []
    found: list[Diagnostic] = []
    read_presets(blocks, product.items, product.holds, {}, found, notes)
    assert found == []
    assert [(note.preset, note.item, note.written, note.stored[:11]) for note in notes] == [
        (1, "level", "at 12:20", "53 %"), (1, "rise", "7 ms", "about 7.196"),
    ]  # fmt: skip
