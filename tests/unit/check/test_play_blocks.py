"""Pedals, taps and MIDI: what is read, and the last value that may be said and the first that may not."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.midi_rules import with_midi
from paramc.check.pedal_rules import with_pedal
from paramc.check.tap_rules import with_tap
from paramc.model.midi import EVERY_CHANNEL, Cc, Midi, Program
from paramc.model.modes import ExpressionTargets
from paramc.model.tap import Fold, Tap
from tests.unit.check.told import product_of, stops, told

_TIME = 'param time "Time" { range 20 ms .. 1200 ms  step 1 ms  default 400 ms }\n'
_BEAT = 'selector beat "Beat" { way whole "1/4" = 1  way dotted "1/8 dotted" = 3/4  default whole }\n'


# ---- pedals


def test_a_pedal_as_written() -> None:
    lines = "ends 100 .. 3900  learned  unplugged 4070 .. 4095"
    made = product_of(with_pedal("level from heel to toe", lines))
    [pedal] = made.pedals
    assert (pedal.adc_bits, pedal.ends, pedal.learned) == (12, (100, 3900), True)
    assert pedal.unplugged == (4070, 4095)
    assert made.modes[0].expressions == (ExpressionTargets("EXP", ("level",), None, "heel", "toe"),)


@pytest.mark.parametrize(("sets", "rules"), [
    ("level", []),
    ("level, depth", ["one-item"]),
    ("level from heel to heel", ["heel-and-toe"]),
    ("level from depth to toe", ["heel-is-toe"]),
    ("level by level", ["item-kind"]),
])
def test_what_a_pedal_sets(sets: str, rules: list[str]) -> None:
    text = with_pedal(sets, "unplugged 4070 .. 4095")
    found = stops(text.replace('"Depth" { range 0 % .. 100 %  step 1 % }', _FULL))
    assert found == rules


_FULL = '"Depth" { range 0 % .. 100 %  step 1 %  default 100 % }'


def test_heel_and_toe_may_be_reversed_and_not_equal() -> None:
    text = with_pedal("level from heel to toe", "unplugged 4070 .. 4095")
    assert told(text) == []
    assert told(text.replace("default 0 %", "default 7 %").replace("default 100 %", "default 7 %")) == [
        "heel-is-toe"
    ]
    assert told(text.replace("level from heel to toe", "level from toe to heel")) == []


def test_an_open_socket_is_outside_of_the_travel() -> None:
    assert stops(with_pedal("level", "ends 100 .. 3900  unplugged 3901 .. 4095")) == []
    assert stops(with_pedal("level", "ends 100 .. 3900  unplugged 3900 .. 4095")) == ["unplugged-in-reach"]


# ---- taps


def test_taps_as_written() -> None:
    made = product_of(with_tap("tap BEAT sets time by beat { taps 3  gap 2 s  fold ignore }"))
    assert made.tap == Tap("BEAT", "time", "beat", 3, None, Fraction(2), Fold.IGNORE)


@pytest.mark.parametrize(("block", "rules"), [
    ("tap BEAT sets time { taps 2  gap 0.1 s  fold halve }", []),
    ("tap BEAT sets time { taps 16  gap 30 s  fold stop }", []),
    ("tap BEAT sets time { taps 1  gap 2 s  fold halve }", ["out-of-bounds"]),
    ("tap BEAT sets time { taps 17  gap 2 s  fold halve }", ["out-of-bounds"]),
    ("tap BEAT sets time { taps 3  gap 31 s  fold halve }", ["out-of-bounds"]),
    ("tap BEAT sets time { taps 3  gap 2 s }", ["unsaid"]),
    ("tap PUSH sets time { taps 3  gap 2 s  fold halve }", ["gesture-twice"]),
    ("tap LOUD sets time { taps 3  gap 2 s  fold halve }", ["control-kind"]),
    ("tap BEAT sets level { taps 3  gap 2 s  fold halve }", ["tap-time"]),
    ("tap BEAT sets time by level { taps 3  gap 2 s  fold halve }", ["item-kind"]),
])
def test_taps(block: str, rules: list[str]) -> None:
    assert stops(with_tap(block)) == rules


@pytest.mark.parametrize(("share", "rules"), [
    # 2 intervals of 2000 ms, doubled, times a share of 1/n of a range in whole ms: 32 bits hold n.
    ("1/4294967295", []), ("1/4294967296", ["tap-too-fine"]),
])
def test_shares_of_a_beat_fit_the_arithmetic(share: str, rules: list[str]) -> None:
    text = with_tap("tap BEAT sets time by beat { taps 3  gap 2 s  fold halve }", _TIME + _BEAT)
    assert stops(text.replace("= 3/4", f"= {share}")) == rules


# ---- MIDI


def test_a_map_as_written() -> None:
    lines = "channel every  cc 20 sets tone  cc 21 fine sets level  program 5 .. 6 sets preset"
    made = product_of(with_midi(lines))
    assert made.midi == Midi(
        EVERY_CHANNEL, None, (Cc(20, "tone"), Cc(21, "level", fine=True)), Program(5, 6)
    )
    assert made.midi is not None and made.midi.ccs[1].numbers == (21, 53)


@pytest.mark.parametrize(("lines", "rules"), [
    ("channel 1  cc 1 sets tone", []),
    ("channel 16  cc 31 fine sets tone", []),
    ("channel 0  cc 1 sets tone", ["out-of-bounds"]),
    ("channel 17  cc 1 sets tone", ["out-of-bounds"]),
    ("channel 1  cc 119 sets tone", []),
    ("channel 1  cc 120 sets tone", ["cc-reserved"]),
    ("channel 1  cc 127 sets tone", ["cc-reserved"]),
    ("channel 1  cc 128 sets tone", ["out-of-bounds"]),
    ("channel 1  cc 32 fine sets tone", ["cc-fine"]),
    ("channel 1  cc 20 sets tone  cc 20 sets level", ["cc-twice"]),
    ("channel 1  cc 20 sets tone  cc 21 sets tone", ["cc-twice"]),
    ("channel 1  cc 20 fine sets tone  cc 52 sets level", ["cc-twice"]),
    ("cc 20 sets tone", ["unsaid"]),
    ("channel 1  program 127 .. 128 sets preset", []),
    ("channel 1  program 127 .. 129 sets preset", ["out-of-bounds"]),
    ("channel 1  program 2 .. 1 sets preset", ["program-outside-slots"]),
])
def test_maps(lines: str, rules: list[str]) -> None:
    assert stops(with_midi(lines)) == rules


@pytest.mark.parametrize(("number", "mends"), [
    ("0", True), ("1", False), ("6", False), ("7", True), ("8", False), ("31", False), ("32", True),
    ("63", True), ("64", False),
])
def test_numbers_that_everybody_sends(number: str, mends: bool) -> None:
    assert ("cc-with-meaning" in told(with_midi(f"channel 1  cc {number} sets tone"))) == mends


def test_the_lower_half_of_a_fine_one_is_no_number_of_its_own() -> None:
    assert "cc-with-meaning" not in told(with_midi("channel 1  cc 20 fine sets tone"))
