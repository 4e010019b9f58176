"""The mode blocks: controls, gestures, deeds, lamps."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.model.items import Note, Signal
from paramc.model.modes import (
    Bypass,
    Does,
    Flip,
    Hold,
    Jumper,
    LampWord,
    NextPreset,
    Press,
    Reset,
    ResetScope,
    Sets,
    Shows,
    WhileHeld,
)
from tests.unit.check.told import only, product_of, read, told

_MAIN = "LOUD sets level  press PUSH does bypass  shows GLOW on"
_PANEL = 'footswitch PUSH "Push"'
_BRIGHT = 'flag bright "Bright" { default off }\n'
_SHAPE = 'selector shape "Shape" { way sine "Sine"  way saw "Saw"  way noise "Noise"  default saw }\n'
_TRIM = 'trim bias "Bias" { range -10 % .. 10 %  step 1 %  nominal 0 %  safe -10 % }\n'


def _main(lines: str) -> str:
    """The example with other lines in its mode, a second footswitch, toggle, rotary, flag and selector."""
    more = f'{_PANEL}, KICK "Kick"\n  toggle UP "Up" 3 positions\n  rotary ROUND "Round" 2 positions'
    return changed(_PANEL, more).replace(_MAIN, lines) + _BRIGHT + _SHAPE


def test_what_is_said_is_what_is_read() -> None:
    main, deep = product_of(
        _main(
            "LOUD sets level  UP sets shape  ROUND sets bright  press PUSH does bypass  shows GLOW off"
            "  hold KICK for 600 ms does while held shape at most 12 s"
            "  hold PUSH + KICK for 1 s does next preset undoes press"
            '} mode deep "Deep water" { hidden  enter hold PUSH + KICK at power up for 3 s'
            '  leave press PUSH or after 20 s  shows GLOW blinks 1 Hz "slow blink"'
            "  press KICK does flip bright  hold KICK for 2 s does reset look undoes press twice"
            '  caution "Loud."  help "For later."'
        )
    ).modes
    assert (main.name, main.label, main.open, main.hidden) == ("main", None, True, False)
    assert main.sets == (Sets("LOUD", "level"), Sets("UP", "shape"), Sets("ROUND", "bright"))
    assert main.shows == (Shows("GLOW", LampWord.OFF, None),)
    assert main.does == (
        Does(Press("PUSH"), Bypass()),
        Does(Hold(("KICK",), Fraction(3, 5)), WhileHeld("shape", Fraction(12))),
        Does(Hold(("PUSH", "KICK"), Fraction(1)), NextPreset(), undoes_press=True),
    )
    assert (deep.name, deep.label, deep.open, deep.hidden) == ("deep", "Deep water", False, True)
    assert deep.enter == Hold(("PUSH", "KICK"), Fraction(3), at_power_up=True)
    assert (deep.leave, deep.leave_after) == (Press("PUSH"), Fraction(20))
    assert deep.shows == (Shows("GLOW", None, Fraction(1), "slow blink"),)
    assert deep.does == (
        Does(Press("KICK"), Flip("bright")),
        Does(Hold(("KICK",), Fraction(2)), Reset(ResetScope.LOOK), undoes_press=True, twice=True),
    )
    assert deep.notes == (Note(Signal.CAUTION, "Loud."), Note(Signal.HELP, "For later."))


@pytest.mark.parametrize(("leave", "gesture", "seconds"), [
    ("", None, None),
    ("leave press PUSH", Press("PUSH"), None),
    ("leave after 1.5 s", None, Fraction(3, 2)),
    ("leave hold PUSH for 1 s or after 10 s", Hold(("PUSH",), Fraction(1)), Fraction(10)),
])
def test_ways_out(leave: str, gesture: object, seconds: Fraction | None) -> None:
    mode = product_of(followed_by(f'mode deep {{ enter jumper "JP1" {leave} }}')).modes[1]
    assert mode.enter == Jumper("JP1")
    assert (mode.leave, mode.leave_after) == (gesture, seconds)


@pytest.mark.parametrize(("lines", "rules"), [
    # which control sets which item
    ("LOUD sets bright", []),
    ("LOUD sets shape", []),
    ("UP sets shape", []),
    ("UP sets level", ["item-kind"]),
    ("ROUND sets level", ["item-kind"]),
    ("PUSH sets bright", ["control-kind"]),
    ("GLOW sets bright", ["control-kind"]),
    ("LOUD sets level, bright", ["one-item"]),
    ("LOUD sets level, bright by shape", ["control-kind"]),
    ("LOUD sets level from bright to shape", ["control-kind"]),
    ("LOWD sets level", ["unknown-name"]),
    ("LOUD sets lever", ["unknown-name"]),
    ("LOWD sets lever", ["unknown-name", "unknown-name"]),
    ("UP sets bright", ["positions-differ"]),
    ("ROUND sets shape", ["positions-differ"]),
    ("LOUD sets level  LOUD sets bright", ["control-twice"]),
    ("LOUD sets level  LOUD sets level  LOUD sets level", ["control-twice", "control-twice"]),
    # lamps
    ("shows GLOW blinks 0.5 Hz", []),
    ("shows GLOW blinks 0 Hz", ["out-of-bounds"]),
    ("shows GLOW blinks -1 Hz", ["out-of-bounds"]),
    ("shows GLOW blinks 1 s", ["wrong-unit"]),
    ("shows PUSH on", ["control-kind"]),
    ("shows GLOW on  shows GLOW off", ["control-twice"]),
    # gestures
    ("press LOUD does bypass", ["control-kind"]),
    ("hold PUSH + GLOW for 1 s does bypass", ["control-kind"]),
    ("hold PUSH + PUSH for 1 s does bypass", ["chord-of-one"]),
    ("hold PUSH for 0.1 s does bypass", []),
    ("hold PUSH for 60 s does bypass", []),
    ("hold PUSH for 0.09 s does bypass", ["out-of-bounds"]),
    ("hold PUSH for 61 s does bypass", ["out-of-bounds"]),
    ("hold PUSH for 1 Hz does bypass", ["wrong-unit"]),
    ('jumper "JP1" does reset look', []),
    ("press PUSH does bypass  press PUSH does next preset", ["gesture-twice"]),
    ("hold PUSH for 1 s does bypass  hold PUSH for 2 s does next preset", ["gesture-twice"]),
    ("hold PUSH + KICK for 1 s does bypass  hold KICK + PUSH for 1 s does next preset", ["gesture-twice"]),
    ("hold PUSH for 1 s does bypass  hold PUSH at power up for 2 s does reset look", []),
    ("hold PUSH for 1 s does bypass  press PUSH does next preset", []),
    # deeds
    ("press PUSH does flip bright", []),
    ("press PUSH does flip shape", ["item-kind"]),
    ("press PUSH does flip brigth", ["unknown-name"]),
    ("hold PUSH for 1 s does while held shape at most 600 s", []),
    ("hold PUSH for 1 s does while held bright at most 1 s", ["item-kind"]),
    ("hold PUSH for 1 s does while held shape at most 601 s", ["out-of-bounds"]),
    ("hold PUSH for 1 s does while held shape at most 1 V", ["wrong-unit"]),
    ("press PUSH does learn LOUD", ["control-kind"]),
    ("press PUSH does bypass undoes press", ["undoes-no-press"]),
    ('jumper "JP1" does bypass undoes press', ["undoes-no-press"]),
    # ways in and out
    ("hidden", ["not-entered"]),
    ("leave press PUSH", ["not-entered"]),
    ("LOUD sets level } mode deep { enter press PUSH  hidden  hidden", ["said-twice"]),
    ("LOUD sets level } mode deep { enter press PUSH  leave after 0.5 s", ["out-of-bounds"]),
    ("LOUD sets level } mode deep { enter press PUSH  leave after 3601 s", ["out-of-bounds"]),
])
def test_lines_of_a_mode(lines: str, rules: list[str]) -> None:
    assert read(_main(lines)) == rules


@pytest.mark.parametrize(("modes", "rules"), [
    # the same way in
    ("mode a { enter press KICK } mode b { enter press KICK }", ["gesture-twice"]),
    ("mode a { enter hold KICK for 1 s } mode b { enter hold KICK for 2 s }", ["gesture-twice"]),
    ('mode a { enter jumper "J" } mode b { enter jumper "J" }', ["gesture-twice"]),
    ('mode a { enter jumper "J1" } mode b { enter jumper "J2" }', []),
    ("mode a { enter hold KICK for 1 s } mode b { enter hold KICK at power up for 2 s }", []),
    # a way in that is also a deed
    ("mode a { enter press PUSH }", ["gesture-twice"]),
    ("mode a { enter press KICK  press KICK does next preset }", ["gesture-twice"]),
    (
        'mode a { enter press KICK } mode b { enter jumper "J"  press KICK does next preset }',
        ["gesture-twice"],
    ),
    # a way out
    ("mode a { enter press KICK  leave press KICK }", []),
    ('mode a { enter press KICK } mode b { enter jumper "J"  leave press KICK }', ["gesture-twice"]),
    ("mode a { enter press KICK  leave press PUSH }", []),
    ("mode a { enter press KICK  leave press PUSH  press PUSH does bypass }", ["gesture-twice"]),
    ("mode a { enter press KICK  leave hold PUSH at power up for 2 s }", ["gesture-out-of-place"]),
    ("mode a { enter press KICK  hold PUSH at power up for 2 s does bypass }", ["gesture-out-of-place"]),
    # modes that are always there count as one
    ("mode a { LOUD sets bright }", ["control-twice"]),
    ("mode a { shows GLOW off }", ["control-twice"]),
    ("mode a { press PUSH does next preset }", ["gesture-twice"]),
    ("mode a { press KICK does next preset }", []),
    ("mode a { enter press KICK  LOUD sets bright  shows GLOW off  press PUSH does bypass }", []),
    # a mode whose way in is wrong is not taken for one that is always there
    ("mode a { enter press LOWD  LOUD sets bright  press PUSH does next preset }", ["unknown-name"]),
    ("mode main { enter press KICK }", ["name-twice"]),
])
def test_modes_beside_the_main_one(modes: str, rules: list[str]) -> None:
    assert read(_main(_MAIN) + modes) == rules


@pytest.mark.parametrize(("enter", "rules"), [
    ('enter jumper "JP1"', []),
    ("enter hold PUSH at power up for 3 s", ["trim-in-reach"]),
    ("enter hold PUSH for 3 s", ["trim-in-reach"]),
])
def test_a_trim_is_out_of_reach_of_feet(enter: str, rules: list[str]) -> None:
    assert told(followed_by(_TRIM, f"mode bench {{ {enter}  LOUD sets bias }}")) == rules


def test_a_trim_in_a_mode_that_is_always_there() -> None:
    assert told(changed("LOUD sets level", "LOUD sets bias") + _TRIM) == ["trim-in-reach"]


def test_the_nearest_name_is_proposed() -> None:
    assert only(changed("LOUD sets level", "LOUD sets lvel")).try_ == "level"
    assert only(changed("LOUD sets level", "LUOD sets level")).try_ == "LOUD"


def test_an_unknown_name_is_one_mistake_however_often_it_is_used() -> None:
    uses = [f'mode m{number} {{ enter jumper "J{number}"  LOUD sets lever }}' for number in range(9)]
    found = only(followed_by(*uses))
    assert found.sentence == 'Mode "m0" speaks of an item lever, and there is none.'
    assert [mark.span.line for mark in found.also] == [15, 16, 17, 18, 19]
    assert found.because == ("It is spoken of in 3 more places.",)
    assert only(changed("LOUD sets level", "LOUD sets lever") + 'preset 1 "A" { lever 3 % }\n').also


def test_the_kind_stands_before_the_label() -> None:
    found = only(_main("UP sets bright"))
    assert found.sentence == 'Toggle "Up" has 3 positions, and flag "Bright" has off and on.'
    found = only(_main("ROUND sets shape"))
    assert found.sentence == 'Rotary "Round" has 2 positions, and selector "Shape" has 3 ways.'


def test_an_item_that_could_not_be_made_is_still_known() -> None:
    assert told(DOORBELL.replace("step 1 %", "step 1 ms")) == ["wrong-unit"]
    assert told(DOORBELL.replace("adc 10 bits", "adc 1 bit")) == ["out-of-bounds"]


def test_254_of_each_are_the_most() -> None:
    def lamps(count: int) -> str:
        more = ", ".join(f'L{number} "L"' for number in range(count - 3))
        return changed('lamp GLOW "Glow"', f'lamp GLOW "Glow", {more}')

    def modes(count: int, lines: str = "") -> str:
        return followed_by(*(f'mode m{n} {{ enter jumper "J{n}" {lines} }}' for n in range(count - 1)))

    assert read(lamps(254)) == []
    found = only(lamps(255))
    assert found.rule.name == "too-many-parts"
    assert found.sentence == "There are 255 controls; 254 are the most."
    assert found.place is not None and found.place.text == "L251"
    assert read(modes(254)) == []
    assert read(modes(255).replace("press PUSH does bypass", "")) == ["too-many-parts"]
    # Each of these modes has two gestures and one sign; the main one has one of each.
    assert read(modes(127, "leave press PUSH  shows GLOW off")) == []
    assert read(modes(128, "leave press PUSH  shows GLOW off")) == ["too-many-parts"]
