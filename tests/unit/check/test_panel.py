"""The panel blocks."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import DOORBELL, changed
from paramc.check.panel import default_ends
from paramc.model.laws import Law, Points, SCurve, Straight, ThreePoint
from paramc.model.panel import Footswitch, Knob, Lamp, Switch, SwitchKind
from tests.unit.check.told import only, product_of, read, told

_KNOB = '"Loud" { adc 10 bits }'


def _knob(lines: str) -> str:
    return changed(_KNOB, f'"Loud" {{ {lines} }}')


def _part(part: str) -> str:
    return changed('lamp GLOW "Glow"', f'lamp GLOW "Glow"\n  {part}')


def test_what_is_said_is_what_is_read() -> None:
    panel = product_of(
        changed(
            f"knob LOUD {_KNOB}",
            'knob LOUD "Loud", TONE "Tone" { adc 12 bits  ends 4050 .. 40  measured  noise 18 counts'
            '  pot linear  turn 270 deg }\n  toggle UP "Up", DOWN "Down" 3 positions'
            '\n  rotary BEAT "Beat" 5 positions',
        )
    ).panel
    assert panel == (
        Knob("LOUD", "Loud", 12, (4050, 40), True, 18, Fraction(270), Straight()),
        Knob("TONE", "Tone", 12, (4050, 40), True, 18, Fraction(270)),
        Switch("UP", "Up", SwitchKind.TOGGLE, 3),
        Switch("DOWN", "Down", SwitchKind.TOGGLE, 3),
        Switch("BEAT", "Beat", SwitchKind.ROTARY, 5),
        Footswitch("PUSH", "Push"),
        Lamp("GLOW", "Glow"),
    )


def test_what_is_not_said() -> None:
    [knob] = product_of(DOORBELL).knobs
    assert (knob.ends, knob.measured, knob.noise, knob.turn) == ((15, 1008), False, 0, 300)
    [switch] = [part for part in product_of(_part('toggle UP "Up"')).panel if isinstance(part, Switch)]
    assert switch.positions == 2


# 1.5 % of 255, 1023, 4095 and 65535 are 3.825, 15.345, 61.425 and 983.025 counts.
@pytest.mark.parametrize(("bits", "ends"), [
    (8, (4, 251)), (10, (15, 1008)), (12, (61, 4034)), (16, (983, 64552)),
])
def test_ends_where_none_are_said(bits: int, ends: tuple[int, int]) -> None:
    assert default_ends(bits) == ends


def test_panels_add_up() -> None:
    text = DOORBELL + 'panel { lamp SPARK "Spark" }\n'
    assert [part.name for part in product_of(text).panel] == ["LOUD", "PUSH", "GLOW", "SPARK"]


def test_a_knob_says_its_adc() -> None:
    found = only(changed(" { adc 10 bits }", ""))
    assert found.rule.name == "unsaid"
    assert found.sentence == 'Knob "Loud" does not say its adc.'
    assert found.try_ == "adc 10 bits"


def test_what_knobs_share_is_wrong_once() -> None:
    text = changed(f"knob LOUD {_KNOB}", 'knob LOUD "Loud", TONE "Tone" { adc 7 bits }')
    assert told(text) == ["out-of-bounds"]


@pytest.mark.parametrize(("lines", "rules"), [
    ("adc 8 bits", []),
    ("adc 16 bits", []),
    ("adc 7 bits", ["out-of-bounds"]),
    ("adc 17 bits", ["out-of-bounds"]),
    (f"adc {'9' * 40} bits", ["out-of-bounds"]),
    ("adc 10 bits  ends 0 .. 1023", []),
    ("adc 10 bits  ends 1023 .. 0", []),
    ("adc 10 bits  ends 0 .. 1024", ["ends-outside-adc"]),
    ("adc 10 bits  ends 5000 .. 6000", ["ends-outside-adc"]),
    ("adc 10 bits  ends 7 .. 7", ["ends-equal"]),
    ("adc 10 bits  ends 100 .. 110  noise 4 counts", ["codes-out-of-reach", "steep-knob"]),
    ("adc 10 bits  ends 100 .. 110  noise 5 counts", ["noise-too-wide"]),
    ("adc 10 bits  noise 0 counts", []),
    ("adc 10 bits  turn 30 deg", []),
    ("adc 10 bits  turn 330 deg", []),
    ("adc 10 bits  turn 29.9 deg", ["out-of-bounds"]),
    ("adc 10 bits  turn 360 deg", ["out-of-bounds"]),
    ("adc 10 bits  turn 300", ["wrong-unit"]),
    ("adc 10 bits  adc 12 bits", ["said-twice"]),
    ("adc 10 bits  pot linear", []),
    ("adc 12 bits  pot audio 10 %", []),
    ("adc 10 bits  pot audio 0 %", ["audio-share"]),
    ("adc 12 bits  pot s 20 %", []),
    ("adc 10 bits  pot s 25 %", ["s-share"]),
    ("adc 10 bits  pot geometric", ["geometric-ends"]),
    ("adc 12 bits  pot points { 7:00 0 %  12:00 35 %  5:00 100 % }", []),
    ("adc 10 bits  pot points { 7:00 0 %  12:00 15 ms  5:00 100 % }", ["wrong-unit"]),
    ("adc 10 bits  pot points { 7:00 1 %  12:00 15 %  5:00 90 % }", ["points-ends", "points-ends"]),
    ("adc 10 bits  pot points { 7:00 0 %  12:00 15 %  1:00 15 %  5:00 100 % }", ["points-one-way"]),
    ("adc 10 bits  after recall meet", []),
    ("adc 10 bits  learned", ["misplaced"]),
])
def test_lines_of_a_knob(lines: str, rules: list[str]) -> None:
    assert told(_knob(lines)) == rules


@pytest.mark.parametrize(("pot", "law", "noon"), [
    ("linear", Straight(), 512),
    # What the part gives at half travel is 10 % of 1023; by a law of s it is half of it, the upper count.
    ("audio 10 %", ThreePoint(Fraction(1, 10)), 102),
    ("s 10 %", SCurve(Fraction(1, 10)), 512),
    (
        "points { 7:00 0 %  12:00 20 %  5:00 100 % }",
        Points(((Fraction(0), Fraction(0)), (Fraction(1, 2), Fraction(1, 5)), (Fraction(1), Fraction(1)))),
        205,
    ),
])
def test_the_law_of_a_part_goes_from_0_to_1(pot: str, law: Law, noon: int) -> None:
    [knob] = product_of(_knob(f"adc 10 bits  pot {pot}")).knobs
    assert (knob.law, knob.noon) == (law, noon)


def test_ends_of_an_adc_that_is_wrong_are_not_held_against_it() -> None:
    assert told(_knob("adc 20 bits  ends 0 .. 1_000_000")) == ["out-of-bounds"]


@pytest.mark.parametrize("kind", ["toggle", "rotary", "footswitch", "lamp"])
@pytest.mark.parametrize("line", [
    "adc 10 bits", "ends 1 .. 2", "measured", "noise 1 count", "pot linear", "turn 300 deg",
])
def test_lines_of_a_knob_belong_to_knobs(kind: str, line: str) -> None:
    positions = "3 positions" if kind in ("toggle", "rotary") else ""
    found = only(_part(f'{kind} OTHER "Other" {positions} {{ {line} }}'))
    assert found.rule.name == "misplaced"
    assert found.sentence.startswith(f'{kind.capitalize()} "Other" ')


@pytest.mark.parametrize(("part", "rules"), [
    ('toggle UP "Up" 2 positions', []),
    ('toggle UP "Up" 3 positions', []),
    ('toggle UP "Up" 1 position', ["out-of-bounds"]),
    ('toggle UP "Up" 4 positions', ["out-of-bounds"]),
    ('rotary UP "Up" 2 positions', []),
    ('rotary UP "Up" 24 positions', []),
    ('rotary UP "Up" 25 positions', ["out-of-bounds"]),
    ('rotary UP "Up"', ["unsaid"]),
    ('lamp UP "Up" 2 positions', ["misplaced"]),
    ('footswitch UP "Up" 2 positions', ["misplaced"]),
    ('knob UP "Up" 2 positions { adc 8 bits }', ["misplaced"]),
    ('pedal UP "Up" { adc 12 bits  unplugged 4070 .. 4095 }', []),
])
def test_positions(part: str, rules: list[str]) -> None:
    assert read(_part(part)) == rules


def test_what_is_proposed_for_a_rotary_can_stand_in_a_source() -> None:
    found = only(_part('rotary UP "U\\"p"'))
    assert read(_part(found.try_)) == []


def test_a_control_has_one_name() -> None:
    found = only(_part('lamp LOUD "Spark"'))
    assert found.rule.name == "name-twice"
    assert 'knob "Loud"' in found.sentence and 'lamp "Spark"' in found.sentence
