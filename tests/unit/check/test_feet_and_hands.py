"""What feet and hands meet: the last product that passes each rule, and the first that does not."""

from __future__ import annotations

import pytest

from paramc.check.example import changed, followed_by
from tests.unit.check.told import told

_MAIN = "LOUD sets level  press PUSH does bypass  shows GLOW on"
_BRIGHT = 'flag bright "Bright" { default off }\n'
_FEET = changed('footswitch PUSH "Push"', 'footswitch PUSH "Push", KICK "Kick"')


def feet(lines: str, more: str = "") -> list[str]:
    """What is said of the example with other lines in its mode, a second footswitch and a flag, but for feet
    that are the only way to something or have nothing to do: that is so here at every turn."""
    leap = changed("adc 10 bits", "adc 10 bits  after recall leap", _FEET)
    found = told(changed(_MAIN, f"LOUD sets level  shows GLOW on  {lines}", leap) + _BRIGHT + more)
    return [name for name in found if name not in ("one-way-in", "control-unused")]


@pytest.mark.parametrize(("lines", "rules"), [
    ("press PUSH does bypass  hold PUSH for 1 s does next preset", ["press-not-undone"]),
    ("press PUSH does bypass  hold PUSH for 1 s does next preset undoes press", []),
    ("press PUSH does bypass  hold KICK for 1 s does next preset", []),
    ("press PUSH does bypass  hold PUSH + KICK for 1 s does next preset", ["press-not-undone"]),
    ("press PUSH does bypass  hold KICK + PUSH for 1 s does next preset undoes press", []),
    ("press PUSH does bypass  press KICK does flip bright  hold KICK + PUSH for 1 s does next preset",
     ["press-not-undone"] * 2),
    ("press PUSH does bypass  hold PUSH at power up for 2 s does next preset", []),
])
def test_no_gesture_is_the_beginning_of_another(lines: str, rules: list[str]) -> None:
    assert feet(lines) == rules


_INSIDE = "shows GLOW blinks 1 Hz  press PUSH does bypass"


@pytest.mark.parametrize(("mode", "rules"), [
    ("mode a {{ enter hold KICK for 2 s  leave after 9 s  {} }}", []),
    ("mode a {{ enter hold PUSH for 2 s  leave after 9 s  {} }}", ["press-not-undone"]),
    ("mode a {{ enter press KICK  leave press KICK or after 9 s  {} }}", []),
    ("mode a {{ enter press KICK  leave hold KICK for 1 s or after 9 s  {} }}", []),
    ("mode a {{ enter press KICK  leave press KICK or after 9 s  {}  hold KICK for 1 s does flip bright }}",
     ["press-not-undone"]),
    ("mode a {{ enter press KICK  leave hold PUSH for 1 s or after 9 s  {} }}", ["press-not-undone"]),
])
def test_nor_are_ways_in_and_out(mode: str, rules: list[str]) -> None:
    assert feet("press PUSH does bypass", mode.format(_INSIDE)) == rules


def test_a_press_that_enters_ends_what_is_held() -> None:
    mode = f"mode a {{ enter press KICK  leave after 9 s  {_INSIDE} }}"
    assert feet("press PUSH does bypass  hold KICK for 1 s does next preset", mode) == ["press-not-undone"]


@pytest.mark.parametrize(("gesture", "rules"), [
    ("hold KICK for 2 s does reset look twice", []),
    ("hold KICK for 1.99 s does reset look twice", ["reset-by-one-foot"]),
    ("hold KICK for 2 s does reset look", ["reset-in-one-stage"]),
    ("press KICK does reset slot twice", ["reset-by-one-foot"]),
    ("hold PUSH + KICK for 1 s does reset slot undoes press twice", []),
    ('jumper "JP1" does reset look', ["reset-in-one-stage"]),
    ('jumper "JP1" does reset look twice', []),
    ("hold KICK at power up for 3 s does reset look twice", ["twice-at-power-up"]),
    ("hold KICK at power up for 3 s does reset look", ["reset-in-one-stage"]),
    ("hold KICK for 1 s does bypass", ["bypass-late"]),
    ("hold KICK at power up for 2 s does bypass", []),
])
def test_resets_ask_twice_and_bypass_does_not_wait(gesture: str, rules: list[str]) -> None:
    assert feet(f"press PUSH does bypass  {gesture}") == rules


@pytest.mark.parametrize(("mode", "rules"), [
    ("enter hold PUSH at power up for 2 s  leave after 9 s  shows GLOW off", ["bypass-out-of-reach"]),
    ("enter hold PUSH at power up for 2 s  leave press PUSH or after 9 s  shows GLOW off", []),
    ("enter hold PUSH at power up for 2 s  leave hold PUSH for 1 s or after 9 s  shows GLOW off",
     ["bypass-out-of-reach"]),
    ("enter hold PUSH at power up for 2 s  leave press PUSH  shows GLOW off", ["mode-stays"]),
    ("enter hold PUSH at power up for 2 s  leave press PUSH or after 9 s", ["mode-unseen"]),
    ('enter jumper "JP1"', []),
])
def test_a_mode_that_feet_enter_has_bypass_a_sign_and_an_end(mode: str, rules: list[str]) -> None:
    assert told(followed_by(f"mode deep {{ {mode} }}")) == rules


def test_where_nothing_bypasses_there_is_nothing_to_miss() -> None:
    mode = "mode deep { enter hold PUSH at power up for 2 s  leave after 9 s  shows GLOW off }"
    assert told(changed("press PUSH does bypass", "press PUSH does flip bright") + _BRIGHT + mode) == []


_LEVEL = "range 0 % .. 100 %  step 1 %"


@pytest.mark.parametrize(("lines", "rules"), [
    ("range -60 dB .. 12 dB  noon 1 dB  step 0.5 dB  off at stop  acts as level", []),
    ("range -60 dB .. 12 dB  noon 1.5 dB  step 0.5 dB  off at stop  acts as level", ["level-noon"]),
    ("range -60 dB .. 12.5 dB  noon 0 dB  step 0.5 dB  off at stop  acts as level", ["level-top"]),
    ("range -40 dB .. 12 dB  noon 0 dB  step 0.5 dB  acts as level", ["level-floor"]),
    ("range -39.5 dB .. 12 dB  noon 0 dB  step 0.5 dB  acts as level", []),
    ("range 1 Hz .. 10 Hz  step 0.5 Hz  acts as rate", []),
    ("range 1 Hz .. 11 Hz  step 1 Hz  acts as rate", ["straight-too-wide"]),
    ("range 1 Hz .. 11 Hz  step 1 Hz  noon 4 Hz  acts as rate", []),
    ("range 0 ms .. 10 ms  step 1 ms  acts as delay time", []),
    ("range 0 ms .. 12 ms  step 1 ms  acts as delay time", ["straight-too-wide"]),
    ("range 0 ms .. 12 ms  step 1 ms  taper audio 20 %  default 3 ms", []),
    ("range 0 % .. 12 %  step 1 %", []),
    ("range -50 % .. 50 %  step 1 %  flat for 3 % of travel", []),
    ("range -50 % .. 50 %  step 1 %  flat for 2.9 % of travel", ["bipolar-flat"]),
    ("range -50 % .. 50 %  step 1 %  flat for 6 % of travel", []),
    ("range -50 % .. 50 %  step 1 %  flat for 6.1 % of travel", ["bipolar-flat"]),
    ("range -50 % .. 50 %  step 1 %  noon 1 %  flat for 4 % of travel", ["bipolar-noon"]),
    ("range -50 % .. 51 %  step 1 %  noon 1 %", []),
    ("range 0 % .. 100 %  step 1 %  noon 40 %  acts as loop gain", []),
    ("range 0 % .. 110 %  step 1 %  noon 45 %  acts as loop gain", ["loop-unlimited"]),
    ('range 0 % .. 101 %  step 1 %  noon 40 %  acts as loop gain  limiter "on"', ["feedback-place"]),
    ('range 0 % .. 110 %  step 1 %  noon 45 %  acts as loop gain  limiter "on"', []),
    ('range 0 % .. 130 %  step 1 %  noon 65 %  acts as loop gain  limiter "on"', ["feedback-place"]),
    ("range 1 Q .. 8 Q  step 0.5 Q  acts as resonance", []),
    ("range 1 Q .. 9 Q  step 0.5 Q  acts as resonance", ["resonance-unlimited"]),
    ("range 40 % .. 0 %  step 1 %", ["falling-unsaid"]),
    ("range 40 % .. 0 %  step 1 %  acts as threshold", []),
])
def test_what_a_knob_gives(lines: str, rules: list[str]) -> None:
    assert told(changed("adc 10 bits", "adc 12 bits", changed(_LEVEL, lines))) == rules


@pytest.mark.parametrize(("knob", "call", "rules"), [
    ("", "next preset", ["recall-unsaid"]),
    ("after recall leap", "next preset", []),
    ("after recall meet", "next preset", []),
    ("", "bypass", []),
])
def test_a_knob_says_what_it_does_after_a_call(knob: str, call: str, rules: list[str]) -> None:
    text = changed("press PUSH does bypass", f"press PUSH does {call}")
    assert told(changed("adc 10 bits", f"adc 10 bits  {knob}", text)) == rules


@pytest.mark.parametrize(("count", "rules"), [(8, []), (9, ["much-hidden"])])
def test_eight_items_are_hidden_at_most(count: int, rules: list[str]) -> None:
    names = "abcdefghi"[:count]
    flags = [f'flag x{one} "X{one}" {{ default off }}' for one in names]
    rooms = [f'mode m{one} {{ hidden  enter jumper "J{one}"  LOUD sets x{one} }}' for one in names]
    assert told(followed_by(*flags, *rooms)) == rules
