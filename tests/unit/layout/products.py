"""Products built by hand, so that the tests of this floor need no source text and no checks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from paramc.model.engine import AsStored, Engine, Gain, Samples, Tolerance, WhereOne
from paramc.model.items import Flag, Item, Param, Selector, Trim, Way
from paramc.model.modes import Bypass, Does, Hold, Jumper, LampWord, Mode, NextPreset, Press, Sets, Shows
from paramc.model.panel import Control, Footswitch, Knob, Lamp, Switch, SwitchKind
from paramc.model.product import Chip, Holds, IfLost, Inside, Preset, Product, Supply, Wakes
from paramc.model.scale import Coded, Scale, Stepped, Straight, ThreePoint
from paramc.numbers.crc import CATALOGUE
from paramc.numbers.formats import Format, parse
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import NO_UNIT, SPELLINGS

CRC_16 = CATALOGUE["crc-16/ibm-3740"]


def form(name: str) -> Format:
    found = parse(name)
    assert found is not None
    return found


def stepped(
    unit: str, first: str, last: str, step: str, noon: str | None = None, off_at_stop: bool = False
) -> Scale:
    """A scale on a grid of steps: linear, or through a noon."""
    law = Straight() if noon is None else ThreePoint(Fraction(noon))
    grid = Stepped(Fraction(step))
    return Scale(SPELLINGS[unit], Fraction(first), Fraction(last), law, grid, off_at_stop)


def param(name: str, scale: Scale, default: str | None = None, **more: Any) -> Param:
    """A param whose default is a value on its grid; without one, what noon gives."""
    code = scale.code_at(Fraction(1, 2)) if default is None else scale.exact_code(Fraction(default))
    assert code is not None
    return Param(name, name.replace("_", " ").capitalize(), scale, code, **more)


def selector(name: str, ways: str, default: str, **more: Any) -> Selector:
    """A selector; its ways are words between blanks."""
    names = ways.split()
    choices = tuple(Way(way, way.capitalize()) for way in names)
    return Selector(name, name.replace("_", " ").capitalize(), choices, names.index(default), **more)


def trim(name: str, scale: Scale, nominal: str, **more: Any) -> Trim:
    code = scale.exact_code(Fraction(nominal))
    assert code is not None
    return Trim(name, name.replace("_", " ").capitalize(), scale, code, **more)


def knob(name: str, bits: int = 10, **more: Any) -> Knob:
    """A knob with 1.5 % of its counts at each end."""
    top = (1 << bits) - 1
    low = round(Fraction(top * 15, 1000))
    return Knob(name, name.capitalize(), bits, (low, top - low), **more)


def holds(**changed: Any) -> Holds:
    """Two copies of everything, two slots with one spare place, the language's growth."""
    usual = Holds(
        identity_copies=2,
        serial_characters=10,
        bench_copies=2,
        bench_growth=1,
        if_lost=IfLost.PLAY,
        setup_copies=2,
        setup_growth=1,
        setup_saves=1,
        preset_slots=2,
        preset_spare=1,
        preset_growth=2,
        preset_names=0,
        preset_saves=5,
        state_copies=4,
        state_growth=1,
        state_saves=20,
    )
    return replace(usual, **changed)


def product(
    items: tuple[Item, ...], panel: tuple[Control, ...] = (), modes: tuple[Mode, ...] = (), **changed: Any
) -> Product:
    """A product of these parts on a memory of 1 KiB written byte by byte."""
    usual = Product(
        name="doorbell",
        label="Doorbell",
        code=0x1234,
        prefix="db",
        revision=1,
        hardware=("A",),
        about=None,
        language=None,
        wakes=Wakes.BYPASSED,
        wakes_from=None,
        first_preset=1,
        supply=Supply(
            Fraction(9), False, "centre negative", Fraction(1, 10), "9 V dc, centre negative, 100 mA"
        ),
        inside=Inside.LOW,
        hot=(),
        battery=(),
        chip=Chip(1024, 1, 100_000, brown_out=Fraction(27, 10), checksum=CRC_16),
        holds=holds(),
        panel=panel,
        items=items,
        modes=modes,
        presets=(),
    )
    return replace(usual, **changed)


def open_mode(*sets: tuple[str, str], **more: Any) -> Mode:
    """The mode that needs no gesture."""
    said = {"name": "main", "label": None, "hidden": False, "enter": None, "leave": None, **more}
    usual = {"leave_after": None, "shows": (), "does": ()}
    return Mode(sets=tuple(Sets(control, item) for control, item in sets), **{**usual, **said})


def teasel_pinch() -> Product:
    """The compressor of the examples: 256 bytes of internal memory, nearly all of them used."""
    per_preset: tuple[Item, ...] = (
        param("squeeze", stepped("dBu", "-6", "-42", "0.5")),
        param("ratio", stepped(":1", "1.5", "20", "0.1", "4")),
        param(
            "attack",
            stepped("ms", "0.5", "80", "0.1", "8"),
            engine=Engine(form("u16"), Samples(Fraction(32000)), Tolerance(Fraction(1, 50))),
        ),
        param("release", stepped("ms", "40", "1500", "5", "200")),
        param(
            "level",
            stepped("dB", "-60", "12", "0.5", "0", off_at_stop=True),
            engine=Engine(form("uq3.13"), Gain(), Tolerance(Fraction(1, 20)), or_nearest=True),
        ),
        selector("tone", "warm flat bright", "flat", engine=Engine(form("u8"), AsStored())),
    )
    kept: tuple[Item, ...] = (
        param("dry_blend", stepped("%", "0", "100", "1"), "0", kept_once=True),
        selector("low_cut", "off hz80 hz120 hz200 hz320", "hz80", kept_once=True),
        param("knee", stepped("dB", "0", "12", "1"), kept_once=True),
        Flag("make_up", "Auto make-up", 1, kept_once=True),
        selector("meter", "reduction level off", "reduction", kept_once=True),
        selector("power_on", "engaged bypassed last", "last", kept_once=True),
    )
    trims: tuple[Item, ...] = (
        trim("vca_null", stepped("counts", "-128", "127", "1"), "0"),
        trim(
            "detector_gain",
            stepped("dB", "-3", "3", "0.1"),
            "0",
            engine=Engine(form("s8"), WhereOne(Fraction(1, 10))),
        ),
        trim("unity_level", stepped("dB", "-2", "2", "0.05"), "0"),
    )
    names = ("SQUEEZE", "RATIO", "ATTACK", "RELEASE", "LEVEL")
    panel: tuple[Control, ...] = (
        *(knob(name, measured=True, noise=2) for name in names),
        Switch("TONE", "Tone", SwitchKind.TOGGLE, 3),
        Footswitch("FOOT", "Bypass"),
        Lamp("STATUS", "Status"),
    )
    main = open_mode(
        *((name, name.lower()) for name in (*names, "TONE")),
        does=(
            Does(Press("FOOT"), Bypass()),
            Does(Hold(("FOOT",), Fraction(4, 5)), NextPreset(), undoes_press=True),
        ),
    )
    deep = open_mode(
        ("SQUEEZE", "dry_blend"),
        ("RATIO", "low_cut"),
        ("ATTACK", "knee"),
        ("RELEASE", "make_up"),
        ("LEVEL", "meter"),
        name="deep",
        label="Deep",
        hidden=True,
        enter=Hold(("FOOT",), Fraction(3), at_power_up=True),
        leave_after=Fraction(20),
        shows=(Shows("STATUS", None, Fraction(1), "slow blink"),),
    )
    service = open_mode(
        ("SQUEEZE", "vca_null"), name="service", label="Service", hidden=True, enter=Jumper("JP2")
    )
    table = (
        ("All at noon", "-24 4 8 200 0", 1),
        ("Barely there", "-14 2 20 250 1", 1),
        ("Country snap", "-28 5 25 120 1", 2),
        ("Slow rise", "-32 3 60 600 2", 0),
        ("Brick on a string", "-36 20 1 80 1.5", 1),
        ("Bass mortar", "-26 4 35 400 1.5", 0),
        ("Slide sustain", "-40 8 4 900 3", 1),
        ("Quiet studio", "-18 2.5 12 180 -1.5", 1),
    )
    return product(
        (*per_preset, *kept, *trims),
        panel,
        (main, deep, service),
        name="teasel_pinch",
        label="Teasel Pinch",
        code=0x5450,
        prefix="tp",
        wakes_from="power_on",
        chip=Chip(256, 1, 100_000, brown_out=Fraction(27, 10), checksum=CRC_16),
        holds=holds(preset_slots=8, preset_spare=1, preset_growth=1, state_copies=4, state_saves=30),
        presets=tuple(
            Preset(at, label, (*_codes(per_preset, values), tone))
            for at, (label, values, tone) in enumerate(table, 1)
        ),
    )


def _codes(items: tuple[Item, ...], values: str) -> tuple[int, ...]:
    codes = []
    for item, value in zip(items, values.split(), strict=False):
        assert isinstance(item, Param)
        code = item.scale.exact_code(Fraction(value))
        assert code is not None
        codes.append(code)
    return tuple(codes)


def doorbell() -> Product:
    """The example of paramc/layout/FORMAT.md, whose source text stands there."""
    scale = stepped("%", "0", "100", "1")
    hum = Scale(SPELLINGS["Hz"], Fraction(20), Fraction(2000), ThreePoint(Fraction(200)), Coded(5))
    chimes = (
        Way("low", "Low", Quantity(Fraction(1, 2), NO_UNIT)),
        Way("mid", "Mid", Quantity(Fraction(1), NO_UNIT)),
        Way("high", "High", Quantity(Fraction(2), NO_UNIT)),
    )
    items: tuple[Item, ...] = (
        param("level", scale),
        param("hum", hum),
        Selector("chime", "Chime", chimes, 1),
        Flag("night", "Night", 0, kept_once=True),
        trim("pitch", stepped("cents", "-10", "10", "0.5"), "0"),
    )
    return product(
        items,
        (knob("LOUD", measured=True), Footswitch("PUSH", "Push"), Lamp("GLOW", "Glow")),
        (
            open_mode(
                ("LOUD", "level"),
                does=(Does(Press("PUSH"), Bypass()),),
                shows=(Shows("GLOW", LampWord.ON, None),),
            ),
            open_mode(("LOUD", "pitch"), name="bench", label="Bench", hidden=True, enter=Jumper("JP1")),
        ),
        code=0x4442,
        hardware=("A", "B"),
        chip=Chip(256, 1, 100_000, brown_out=Fraction(27, 10), checksum=CRC_16),
        holds=holds(
            serial_characters=4,
            if_lost=IfLost.BYPASS,
            setup_saves=0,
            preset_names=6,
            preset_saves=0,
            state_saves=20,
        ),
        presets=(Preset(1, "Ding", (50, 15, 1)), Preset(2, "Dong", (30, 20, 2))),
    )
