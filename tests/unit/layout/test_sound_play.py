"""What a layout file must keep of pedals, deeds, taps, MIDI and promises, each fault by its sentence."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from paramc.check.midi_rules import with_midi
from paramc.check.pedal_rules import with_pedal
from paramc.check.tap_rules import with_tap
from paramc.layout.sound_play import deed_is_sound, pedal_faults, play_faults
from paramc.model.items import Selector
from paramc.model.midi import Cc, Program
from paramc.model.modes import Bypass, Flip, Learn, NextPreset, WhileHeld
from paramc.model.panel import Pedal
from paramc.model.product import Product
from paramc.model.promises import OfItem
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import SPELLINGS
from tests.unit.check.told import product_of

PEDAL = product_of(with_pedal("level from heel to toe", "learned  unplugged 4070 .. 4095"))
TAP = product_of(with_tap("tap BEAT sets time by beat { taps 3  gap 2 s  fold halve }"))
MIDI = product_of(with_midi("channel 1  cc 20 sets tone  cc 21 fine sets level  program 1 .. 2 sets preset"))
PROMISE = product_of(with_midi("channel 1") + 'promise "p" in every preset level <= 60 %\n')


def said(product: Product) -> list[str]:
    return list(play_faults(product))


@pytest.mark.parametrize("product", [PEDAL, TAP, MIDI, PROMISE], ids=["pedal", "tap", "midi", "promise"])
def test_what_was_checked_is_sound(product: Product) -> None:
    assert said(product) == []


# ---- pedals and deeds

SOUND = Pedal("EXP", "Expression", 12, (100, 3900), unplugged=(4070, 4095))


@pytest.mark.parametrize(("pedal", "faults"), [
    (SOUND, 0),
    (replace(SOUND, unplugged=None), 0),
    (replace(SOUND, unplugged=(0, 99)), 0),
    (replace(SOUND, adc_bits=0), 1),
    (replace(SOUND, adc_bits=17), 1),
    (replace(SOUND, ends=(100, 4096), unplugged=None), 1),
    (replace(SOUND, ends=(100, 100)), 1),
    (replace(SOUND, noise=-1), 1),
    (replace(SOUND, unplugged=(3900, 4095)), 1),
    (replace(SOUND, unplugged=(4095, 4070)), 1),
])
def test_a_pedal_that_can_be_read(pedal: Pedal, faults: int) -> None:
    assert len(list(pedal_faults(pedal, "a pedal"))) == faults


def test_deeds_are_about_what_is_there() -> None:
    assert all(deed_is_sound(deed, PEDAL) for deed in (Bypass(), NextPreset(), Learn("EXP")))
    unsound = (Flip("level"), Flip("none"), WhileHeld("none", Fraction(1)), Learn("LOUD"))
    assert not any(deed_is_sound(deed, PEDAL) for deed in unsound)


def targets(**changes: object) -> Product:
    [mode] = PEDAL.modes
    [one] = mode.expressions
    return replace(PEDAL, modes=(replace(mode, expressions=(replace(one, **changes),)),))  # type: ignore[arg-type]


@pytest.mark.parametrize(("changes", "words"), [
    ({"pedal": "LOUD"}, "is not there"),
    ({"items": ()}, "not there, or a trim"),
    ({"items": ("none",)}, "not there, or a trim"),
    ({"items": ("level", "depth")}, "nothing chooses among them"),
    ({"chooser": "level"}, "no selector with as many ways"),
    ({"heel": None}, "a heel and no toe, or a toe and no heel"),
    ({"heel": "toe"}, "not two params"),
])
def test_what_a_pedal_sets(changes: dict[str, object], words: str) -> None:
    assert any(words in one for one in said(targets(**changes)))


# ---- taps and MIDI


@pytest.mark.parametrize(("changes", "words"), [
    ({"control": "LOUD"}, "no footswitch"),
    ({"item": "none"}, "no param of times above zero"),
    ({"item": "level"}, "no param of times above zero"),
    ({"chooser": "time"}, "no selector of numbers above zero"),
    ({"taps_from": "beat"}, "no param"),
    ({"taps": 1}, "is none"),
    ({"taps": 17}, "is none"),
    ({"gap": Fraction(0)}, "is none"),
])
def test_taps(changes: dict[str, object], words: str) -> None:
    assert TAP.tap is not None
    [fault] = said(replace(TAP, tap=replace(TAP.tap, **changes)))  # type: ignore[arg-type]
    assert words in fault


def test_taps_that_fit_no_integers() -> None:
    assert TAP.tap is not None
    beat = TAP.item("beat")
    assert isinstance(beat, Selector)

    def with_share(share: Fraction) -> list[str]:
        way = replace(beat.ways[1], number=Quantity(share, SPELLINGS[""]))
        ways = replace(beat, ways=(beat.ways[0], way))
        return said(replace(TAP, items=tuple(ways if item is beat else item for item in TAP.items)))

    assert with_share(Fraction(1, (1 << 32) - 1)) == []
    assert with_share(Fraction(3, 4)) == []
    [fault] = with_share(Fraction(1, 1 << 32))
    assert "64 bits" in fault


def test_a_setting_that_says_taps_or_a_channel_counts_them() -> None:
    many = 'param many "Taps" {{ range 2 .. {}  step 1  default 3  kept once }}\n'
    block = "tap BEAT sets time { taps from many  gap 2 s  fold stop }"
    time = 'param time "Time" { range 20 ms .. 1200 ms  step 1 ms  default 400 ms }\n'
    product = product_of(with_tap(block, time + many.format(6)))
    assert product.tap is not None and said(product) == []
    for tap in (replace(product.tap, taps=5), replace(product.tap, taps_from="time")):
        [fault] = said(replace(product, tap=tap))
        assert "number of taps" in fault
    assert MIDI.midi is not None
    [fault] = said(replace(MIDI, midi=replace(MIDI.midi, channel_from="tone")))
    assert "from 0 to 16" in fault


@pytest.mark.parametrize(("changes", "words"), [
    ({"channel": 17}, "channel is none"),
    ({"channel_from": "none"}, "no param"),
    ({"ccs": (Cc(20, "none"),)}, "not there, or a trim"),
    ({"ccs": (Cc(20, "tone"), Cc(20, "level"))}, "stands twice"),
    ({"ccs": (Cc(20, "tone"), Cc(21, "tone"))}, "stands twice"),
    ({"ccs": (Cc(120, "tone"),)}, "controller is none"),
    ({"ccs": (Cc(40, "tone", fine=True),)}, "no partner"),
    ({"program": Program(0, 1)}, "programs are none"),
    ({"program": Program(1, 3)}, "more than there are presets"),
    ({"program": Program(2, 1)}, "programs are none"),
])
def test_maps(changes: dict[str, object], words: str) -> None:
    assert MIDI.midi is not None
    [fault] = said(replace(MIDI, midi=replace(MIDI.midi, **changes)))  # type: ignore[arg-type]
    assert words in fault


# ---- promises


def test_promises() -> None:
    [promise] = PROMISE.promises
    nowhere = replace(promise, subject=OfItem("none"))
    unbound, varied = replace(promise, low=None, high=None), replace(promise, vary=("level",))
    for one, words in ((nowhere, "not there"), (unbound, "no bound"), (varied, "no trim")):
        [fault] = said(replace(PROMISE, promises=(one,)))
        assert words in fault
