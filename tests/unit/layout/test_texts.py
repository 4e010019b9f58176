"""The built-in texts: their wording, the words of the file that bring them, and where they are shown."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from paramc.layout.layout import SafetyText
from paramc.layout.texts import PLACES, crossing, safety_texts
from paramc.model.items import Param, Role, Signal
from paramc.model.modes import Does, Hold, Jumper, Shows, WhileHeld
from paramc.model.panel import Footswitch, Lamp
from paramc.model.product import Inside, Product
from paramc.model.scale import Geometric, Scale, Stepped, ThreePoint
from paramc.numbers.units import SPELLINGS
from tests.unit.layout.products import knob, open_mode, param, product, selector, stepped, trim

ALWAYS = {
    "hearing": (
        "WARNING. Loud sound harms hearing for good, and loud tests add up over a day. Keep listening tests"
        " quiet and short. As a guide, 85 dB(A) for 8 hours; every 3 dB more halves the time. Follow your"
        " local rule."
    ),
    "first-power-up": (
        "WARNING. After new firmware, a new image or a repair, take the first sound with the amplifier's"
        " volume at zero and no headphones. Pedal on first, amplifier last; off in reverse."
    ),
    "programming": (
        "WARNING. Unplug amplifier and headphones first: a chip being written can put out full-scale noise."
        " One supply only, the unit's or the programmer's; connect grounds first. Never on mains or"
        " high-voltage gear that is live. Do not pull the plug while it writes."
    ),
    "erasing": (
        "NOTICE. A full erase can wipe serial and trims. Read and save the unit first; check the erase"
        " setting."
    ),
    "replies": (
        "Do not open the unit. If it must be opened, send it to us or to a qualified technician."
    ),
}


def bare(**changed: Any) -> Product:
    return product(
        (param("level", stepped("%", "0", "100", "1")),), **{"supply": None, "inside": None, **changed}
    )


def texts(of: Product) -> dict[str, SafetyText]:
    found = safety_texts(of)
    assert len({text.key for text in found}) == len(found)
    assert all(text.where and set(text.where) <= set(PLACES) for text in found)
    return {text.key: text for text in found}


def test_some_stand_in_every_product() -> None:
    assert {key: text.line for key, text in texts(bare()).items()} == ALWAYS
    assert all(text.about == "" for text in texts(bare()).values())


def test_where_the_constant_ones_are_shown() -> None:
    found = texts(bare())
    assert {key: set(text.where) for key, text in found.items()} == {
        "hearing": {"readme", "owner", "bench", "developer"},
        "first-power-up": {"stamp", "verify", "bench", "reply"},
        "programming": {"stamp", "restore", "bench", "readme"},
        "erasing": {"stamp", "restore", "bench", "readme"},
        "replies": {"reply"},
    }


def test_a_word_of_the_file_brings_its_text_and_nothing_else() -> None:
    usual = product((param("level", stepped("%", "0", "100", "1")),))
    supply = usual.supply
    for changed, key in (
        ({"hot": ("U3",)}, "hot-parts"),
        ({"battery": ("2 cells AA",)}, "cells"),
        ({"inside": Inside.HIGH}, "high-voltage"),
        ({"inside": Inside.MAINS}, "high-voltage"),
        ({"supply": supply}, "supply-polarity"),
    ):
        assert set(texts(bare(**changed))) == {*ALWAYS, key}
    assert set(texts(bare(inside=Inside.LOW))) == set(ALWAYS)


def test_braces_are_filled_in_from_the_file() -> None:
    usual = product(())
    found = texts(bare(hot=("U3", "R{7}"), supply=usual.supply))
    assert found["hot-parts"].line == (
        "CAUTION. U3, R{7} and power resistors stay hot after switch-off. Wait, or test without touching."
    )
    assert found["supply-polarity"].line == (
        "CAUTION. Supply 9 V dc, centre negative, 100 mA only. The same plug comes with other voltages, ac,"
        " or the poles swapped; these can burn out or heat the unit."
    )


# ---- trims and jumpers


def biased(**changed: Any) -> Product:
    bias = trim("bias", stepped("mA", "10", "60", "0.5"), "30", safe=2)
    balance = trim("balance", stepped("%", "-5", "5", "1"), "0")
    panel = (knob("LEVEL"), Lamp("GLOW", "Glow"), Footswitch("FOOT", "Foot"))
    bench = open_mode(("LEVEL", "bias"), name="bench", hidden=True, enter=Jumper("JP2"))
    return product((bias, balance), panel, (bench,), **changed)


def test_a_trim_with_a_safe_value_warns_beside_itself() -> None:
    found = texts(biased())
    assert found["unsafe-trim.bias"].line == (
        "WARNING. A wrong Bias can overheat parts. Unknown means 11 mA, and output muted where the product"
        " says so. Never copy this trim from another unit."
    )
    assert found["unsafe-trim.bias"].about == "bias"
    assert "unsafe-trim.balance" not in found


def test_high_voltage_is_said_beside_every_trim() -> None:
    found = texts(biased(inside=Inside.MAINS))
    beside = [text for text in found.values() if text.signal is Signal.DANGER]
    assert [text.about for text in beside] == ["", "bias", "balance"]
    assert {text.text for text in beside} == {found["high-voltage"].text}
    assert found["high-voltage"].line == (
        "DANGER. Voltages inside can kill, also long after unplugging. Only for people trained for it."
        " Unplug, discharge through a resistor, measure that it is gone. If a trim must be set live:"
        " insulated tool, one hand, never alone, a meter rated for the voltage. Never lift the safety earth,"
        " nor clip a grounded probe to a live chassis. Local code comes first."
    )
    assert {"header", "readme"} <= set(found["high-voltage"].where)


def test_jumpers_are_named_each_once() -> None:
    of = biased()
    second = open_mode(
        name="other", hidden=True, enter=Jumper("JP5"), leave=Jumper("JP2"), does=()
    )
    found = texts(replace(of, modes=(*of.modes, second)))
    assert found["static"].line == (
        "NOTICE. Touch ground or wear a wrist strap before you touch the board. Take the strap off for work"
        " on live high voltage. Place or pull jumpers with power off, and only JP2 and JP5."
    )
    assert texts(of)["static"].text.endswith("and only JP2.")


def test_only_lamps_that_flash_fast_are_warned_of() -> None:
    of = biased()

    def flashing(hertz: str) -> Product:
        shows = (Shows("GLOW", None, Fraction(hertz)),)
        return replace(of, modes=(open_mode(shows=shows),))

    assert "fast-lamp.GLOW" not in texts(flashing("3"))
    fast = texts(flashing("3.1"))["fast-lamp.GLOW"]
    assert fast.about == "GLOW"
    assert fast.line == (
        "CAUTION. Lamps that flash more than 3 times a second can trigger seizures or migraine."
    )


def test_what_is_done_while_held_warns_beside_its_item() -> None:
    hold = selector("hold_action", "freeze swell climb", "freeze")
    deed = WhileHeld("hold_action", Fraction(12))
    mode = open_mode(does=(Does(Hold(("FOOT",), Fraction(3, 5)), deed),))
    found = texts(product((hold,), (Footswitch("FOOT", "Foot"),), (mode,)))
    assert found["held.hold_action"].about == "hold_action"
    assert found["held.hold_action"].line == (
        "CAUTION. A foot or a MIDI message can reach the loud end at once. Try each one at low volume first."
    )


# ---- sound that feeds itself


def looping(scale: Scale, role: Role = Role.LOOP_GAIN, turn: int = 300, by_knob: bool = True) -> Product:
    repeats = Param("repeats", "Repeats", scale, 0, role=role)
    mode = open_mode(*([("REPEATS", "repeats")] if by_knob else []))
    return product((repeats,), (knob("REPEATS", turn=Fraction(turn)),), (mode,))


def through(unit: str, first: str, noon: str, last: str, step: str) -> Scale:
    return stepped(unit, first, last, step, noon)


def test_the_crossing_is_said_as_a_clock_position() -> None:
    """0 to 110 % with 45 % at noon: r = 65 / 45, and 100 % is at travel 0.928, which is 4:17."""
    found = texts(looping(through("%", "0", "45", "110", "0.5")))["feeds-itself.repeats"]
    assert found.line == (
        "WARNING. Above 100 % (4:15) this sound feeds itself and can grow very loud within a second. Start"
        " with the amplifier low. No headphones. To stop it: bypass, or turn Repeats down."
    )
    assert found.about == "repeats"
    assert set(found.where) == {"owner", "bench", "developer", "header", "reply"}


@pytest.mark.parametrize(
    ("scale", "role", "turn", "value"),
    [
        # straight 0 to 125 %: 100 % at travel 0.8, three hours past noon
        (stepped("%", "0", "125", "1"), Role.LOOP_GAIN, 300, "100 % (3:00)"),
        # the same on a knob of 270 degrees: 0.3 of 9 hours past noon is 2:42
        (stepped("%", "0", "125", "1"), Role.LOOP_GAIN, 270, "100 % (2:45)"),
        # falling: 100 % at travel 0.2
        (stepped("%", "125", "0", "1"), Role.LOOP_GAIN, 300, "100 % (9:00)"),
        # the whole range is above
        (stepped("%", "110", "150", "1"), Role.LOOP_GAIN, 300, "100 % (7:00)"),
        (stepped("dB", "-20", "5", "1"), Role.LOOP_GAIN, 300, "0 dB (3:00)"),
        (stepped("x", "0", "2", "0.1"), Role.LOOP_GAIN, 300, "1 x (12:00)"),
        (stepped("Q", "2", "14", "0.5"), Role.RESONANCE, 300, "Q 8 (12:00)"),
        (stepped("dB", "0", "36", "1"), Role.RESONANCE, 300, "18 dB (12:00)"),
        (
            Scale(SPELLINGS["Q"], Fraction(1, 2), Fraction(16), Geometric(), Stepped(Fraction(1, 2))),
            Role.RESONANCE,
            300,
            # 8 = 0.5 * 32^0.8
            "Q 8 (3:00)",
        ),
    ],
)
def test_the_value_above_which_it_feeds_itself(scale: Scale, role: Role, turn: int, value: str) -> None:
    text = texts(looping(scale, role, turn))["feeds-itself.repeats"].text
    assert text.startswith(f"Above {value} this sound")


@pytest.mark.parametrize(
    ("scale", "role"),
    [
        (stepped("%", "0", "100", "1"), Role.LOOP_GAIN),
        (stepped("dB", "-60", "0", "1"), Role.LOOP_GAIN),
        (stepped("Q", "0.5", "8", "0.5"), Role.RESONANCE),
        (stepped("%", "0", "200", "1"), Role.GAIN),
        (stepped("dB", "0", "40", "1"), Role.LEVEL),
    ],
)
def test_what_never_feeds_itself_is_not_warned_of(scale: Scale, role: Role) -> None:
    assert "feeds-itself.repeats" not in texts(looping(scale, role))


def test_without_a_knob_there_is_no_clock_position() -> None:
    found = texts(looping(stepped("%", "0", "125", "1"), by_knob=False))["feeds-itself.repeats"]
    assert found.text.startswith("Above 100 % this sound feeds itself")


@pytest.mark.parametrize("percent", range(1, 100, 7))
def test_a_crossing_is_the_nearest_of_all_quarter_hours(percent: int) -> None:
    """Against the distances of all 41 positions, for the straight taper that 0 to 100 % is."""
    scale = stepped("%", "0", "100", "1")
    minutes = {15 * quarter: abs(Fraction(quarter, 40) + Fraction(1, 2) - Fraction(percent, 100))
               for quarter in range(-20, 21)}
    assert minutes[crossing(scale, Fraction(percent))] == min(minutes.values())


def test_a_crossing_goes_through_the_taper_of_the_item() -> None:
    law = ThreePoint(Fraction(10))
    scale = Scale(SPELLINGS["%"], Fraction(0), Fraction(100), law, Stepped(Fraction(1)))
    assert crossing(scale, Fraction(10)) == 0
    assert crossing(scale, Fraction(99)) == 300
