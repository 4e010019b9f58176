"""Mends over a finished product."""

from __future__ import annotations

import pytest

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.check.tap_rules import with_tap
from tests.unit.check.told import checked, only, told

_TRIM = 'trim bias "Bias" { range -10 % .. 10 %  step 1 %  nominal 0 % }\n'
_SAFE = _TRIM.replace("nominal 0 %", "nominal 0 %  safe -10 %")
_BYPASS = changed("state 4 copies", "bench if lost bypass  state 4 copies")
_LEVEL = "range 0 % .. 100 %  step 1 %"


@pytest.mark.parametrize(("statement", "rule"), [
    ("supply 9 V dc centre negative 20 mA", "supply-unsaid"),
    ("inside low voltage", "inside-unsaid"),
    ("brown-out 2.7 V", "brown-out-unsaid"),
])
def test_what_ought_to_be_said(statement: str, rule: str) -> None:
    found = only(changed(statement, ""))
    assert found.rule.name == rule
    assert told(changed(statement, found.try_)) == []


def test_what_the_bench_writes_stands_twice() -> None:
    found = only(changed("identity 2 copies", "identity 1 copy"))
    assert (found.rule.name, found.try_) == ("single-copy", "identity 2 copies")
    assert told(_BYPASS.replace("bench", "bench 1 copy")) == ["single-copy"]
    assert told(_BYPASS) == []


@pytest.mark.parametrize(("text", "reasons"), [
    (DOORBELL, ["The unit mutes while trims are lost."]),
    (_BYPASS, []),
    (_BYPASS.replace("bypass  state", "play  state"), []),
    (_BYPASS.replace("low voltage", "high voltage"), ["The product says inside high voltage."]),
    (_BYPASS.replace("low voltage", "mains"), ["The product says inside mains."]),
    (_BYPASS.replace("revision 1", 'revision 1  hot "U3"'), ["The product names hot parts."]),
])
def test_trims_whose_loss_can_do_harm_say_what_is_safe(text: str, reasons: list[str]) -> None:
    found = checked(text + _TRIM).diagnostics
    assert [one.rule.name for one in found] == ["trim-without-safe"] * bool(reasons)
    assert [reason for one in found for reason in one.because] == reasons
    if "if lost play" not in text:
        assert told(text + _SAFE) == []


def test_each_trim_is_told() -> None:
    trims = _TRIM + _TRIM.replace("bias", "other") + _SAFE.replace("bias", "third")
    assert [one.subject for one in checked(DOORBELL + trims).diagnostics] == ["bias", "other"]


@pytest.mark.parametrize(("rate", "rules"), [
    ("3 Hz", []), ("3.01 Hz", ["lamp-over-3-hertz"]), ("0.004 kHz", ["lamp-over-3-hertz"]), ("0.5 Hz", []),
])
def test_lamps_flash_at_most_three_times_a_second(rate: str, rules: list[str]) -> None:
    assert told(changed("shows GLOW on", f"shows GLOW blinks {rate}")) == rules


def _fine(line: str) -> str:
    """The example with a level that says this, on a converter that is fine enough for it."""
    return changed(_LEVEL, line).replace("adc 10 bits", "adc 12 bits")


@pytest.mark.parametrize(("line", "rules"), [
    ("range 0 % .. 100 %  noon 2 %  step 1 %", []),
    ("range 0 % .. 100 %  noon 98 %  step 1 %", []),
    ("range 0 % .. 100 %  noon 1 %  step 1 %", ["noon-one-sided"]),
    ("range 0 % .. 100 %  noon 99 %  step 1 %", ["noon-one-sided"]),
    ('range 100 % .. 0 %  noon 1 %  step 1 %  help "Turn up for less."', ["noon-one-sided"]),
    ("range 0 % .. 100 %  taper audio 1 %  step 1 %  default 50 %", ["noon-one-sided"]),
    (_LEVEL, []),
])
def test_noon_is_not_at_one_end(line: str, rules: list[str]) -> None:
    assert told(_fine(line)) == rules


def test_the_sentence_about_noon_says_range_noon_and_side() -> None:
    found = only(_fine("range 0 % .. 100 %  noon 1 %  step 1 %"))
    assert found.sentence == 'Of the range of param "Level", 0 % to 100 %, 99 % lie behind noon, 1 %.'


@pytest.mark.parametrize(("time", "rules"), [
    ("2 s", []), ("1999 ms", ["hold-at-power-up-short"]), ("0.5 s", ["hold-at-power-up-short"]),
])
def test_a_hold_at_power_up_takes_two_seconds(time: str, rules: list[str]) -> None:
    hold = f"hold PUSH at power up for {time}"
    inside = "leave after 20 s  shows GLOW blinks 1 Hz  press PUSH does bypass"
    assert told(followed_by(f"mode deep {{ enter {hold}  {inside} }}")) == rules
    assert told(changed("press PUSH does bypass", f"{hold} does bypass")) == rules


def test_mends_wait_for_a_product_without_stops() -> None:
    assert told(changed("inside low voltage", "").replace("revision 1", "revision 0")) == ["out-of-bounds"]


@pytest.mark.parametrize(("part", "mode", "rules"), [
    ('toggle TONE "Tone" 2 positions', "", ["control-unused"]),
    ('toggle TONE "Tone" 2 positions', "TONE sets bright", []),
    ('knob TONE "Tone" { adc 10 bits }', "", ["control-unused"]),
    ('footswitch KICK "Kick"', "", ["control-unused"]),
    ('footswitch KICK "Kick"', "press KICK does flip bright", []),
    ('footswitch KICK "Kick"', 'leave press KICK  enter jumper "J"', []),
    (
        'footswitch KICK "Kick"',
        "enter hold KICK at power up for 2 s  leave after 9 s  shows GLOW off  press PUSH does bypass", [],
    ),
    ('pedal EXP "Foot" { adc 12 bits  unplugged 4070 .. 4095 }', "", ["control-unused"]),
    ('lamp SPARK "Spark"', "", []),
])
def test_what_is_on_the_panel_does_something(part: str, mode: str, rules: list[str]) -> None:
    text = changed('lamp GLOW "Glow"', f'lamp GLOW "Glow"  {part}')
    assert told(f'{text}flag bright "Bright" {{ default off }}\nmode more "More" {{ {mode} }}\n') == rules


def test_a_switch_that_is_only_tapped_does_something() -> None:
    assert told(with_tap("tap BEAT sets time { taps 3  gap 2 s  fold halve }")) == []
    time = 'param time "Time" { range 20 ms .. 1200 ms  step 1 ms  default 400 ms }\n'
    assert told(with_tap("", time)) == ["control-unused"]
