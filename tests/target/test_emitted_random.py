"""Products by chance: any checksum, order and page, narrow and wide fields, with and without each kind."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import pytest

from paramc.layout.json_form import to_json
from paramc.numbers.crc import CATALOGUE
from tests.published.both_roads import engine_values, knob_codes
from tests.target.chips import arm_object, avr_object, host, run_host_board
from tests.target.dump import dump_program, expected
from tests.target.emitted import emit, layout_of
from tests.target.memories import damaged_memories, random_memory

PRODUCTS = 14
MEMORIES = 25


def random_product(seed: int) -> str:
    """A product text. Checksums go round, so that so many products have many of them."""
    chance = random.Random(seed)
    checksum = list(CATALOGUE)[seed * 7 % len(CATALOGUE)]
    page = chance.choice([1, 1, 8, 32])
    slots = chance.choice([1, 2, 3, 8, 9, 16, 33])
    pick = chance.choice
    items = [_item(chance, at) for at in range(chance.randint(1, 14))]
    names = [line.split()[1] for line in items]
    trims = [_trim(chance, at) for at in range(chance.choice([0, 1, 4]))]
    knobs = [_knob(chance, at) for at in range(chance.choice([0, 2, 5]))]
    settable = [*names, *(line.split()[1] for line in trims)]
    sets = [f"K{at} sets {name}" for at, name in enumerate(settable[: len(knobs)])]
    wakes, power = pick(
        [("bypassed", ""), ("engaged", ""), ("as it was", ""), ("from power_on", _power(chance))]
    )
    # Trims are set where feet alone cannot come.
    modes = f'mode bench {{ enter jumper "J" {" ".join(sets)} }}' if sets else ""
    return f"""
product chance "Chance {seed}" {{
  code 0x{chance.randrange(1, 0xFFFF):04X} prefix {pick(["ch", "x", "letters"])}
  revision {pick([1, 2, 17, 253, 254])}
  wakes {wakes} first preset {chance.randint(1, slots)} supply 9 V dc centre negative 60 mA inside low voltage
}}
chip {{
  size 8 KiB page {page} {"byte" if page == 1 else "bytes"} endurance 100_000 writes brown-out 2.7 V
  order {pick(["little", "big"])} blank {pick(["0xFF", "0x00"])} checksum {checksum}
}}
holds {{
  identity {pick(["1 copy", "2 copies", "3 copies"])}
  {pick(["", "serial 1 characters", "serial 12 characters"])}
  bench {pick(["1 copy", "2 copies"])} growth {pick([0, 1, 3])} bytes if lost {pick(["mute", "bypass"])}
  setup {pick(["2 copies", "5 copies"])} growth {pick([0, 2])} bytes
  presets {slots} slots spare {pick([1, 2])} growth {pick([0, 4])} bytes
  {pick(["", "names 1 bytes", "names 16 bytes"])}
  state {pick([2, 3, 8])} copies growth {pick([0, 1])} bytes
}}
panel {{ {" ".join(knobs)} footswitch F "F" lamp L "L" }}
{chr(10).join(items)}
{power}
{chr(10).join(trims)}
mode main {{ press F does bypass shows L on }}
{modes}
preset 1 "1" {{ }}
"""


def _item(chance: random.Random, at: int) -> str:
    kept = chance.choice(["", "", "kept once"])
    kind = chance.choice(["param", "curve", "curve", "coded", "selector", "flag"])
    if kind == "flag":
        return f'flag i{at} "I" {{ default {chance.choice(["on", "off"])} {kept} }}'
    if kind == "selector":
        ways = chance.choice([2, 3, 4, 5, 16, 17])
        listed = " ".join(f'way w{way} "W{way}"' for way in range(ways))
        engine = chance.choice(["", "engine u8", "engine s32"])
        return f'selector i{at} "I" {{ {listed} default w{chance.randrange(ways)} {kept} {engine} }}'
    if kind in ("curve", "coded"):
        return f'param i{at} "I" {{ {curve(chance, kind == "coded")} {kept} }}'
    steps = chance.choice([1, 2, 3, 127, 128, 255, 256, 257, 1000])
    low = chance.choice([0, -5, 40])
    ends = f"{low} .. {low + steps}" if chance.random() < 0.7 else f"{low + steps} .. {low}"
    engine = chance.choice(
        ["", "engine s32 where 1 is 1", "engine s16 where 1 is 3", "engine q31 where 1 is 100000"]
    )
    default = low + chance.randint(0, steps)
    return f'param i{at} "I" {{ range {ends} step 1 default {default} {kept} {engine} }}'


@dataclass(frozen=True)
class Kind:
    """What is converted: a range of whole numbers in a unit, and how; tolerances that some codes can keep."""

    unit: str
    low: int
    high: int
    formats: tuple[str, ...]
    conversions: tuple[str, ...]
    tolerances: tuple[str, ...]


KINDS = (
    Kind("dB", -60, 11, ("uq2.14", "uq3.13", "uq2.30", "q4.12"), ("as gain",), ("0.1 dB", "0.02 dB", "1 dB")),
    Kind("ms", 5, 1200, ("u16", "s32", "uq16.16"), ("as samples at 32 kHz",), ("1 ms", "0.01 ms", "1 %")),
    Kind("Hz", 20, 12000, ("u16", "u32"), ("as phase at 48 kHz",), ("1 Hz", "0.5 %", "2 %")),
    Kind("Hz", 20, 9000, ("q15", "q31", "uq1.15"), ("as pole at 32 kHz",), ("1 Hz", "0.5 %", "3 %")),
    Kind("cents", -1200, 1200, ("uq2.14", "uq4.12", "uq3.29"), ("as pitch",), ("2 cents", "0.1 cents")),
    Kind("ms", 40, 9000, ("uq1.15", "q31", "uq1.31"), ("as decay at 32 kHz",), ("1 %", "5 ms")),
    Kind("", -300, 700, ("s16", "s32", "q12.20", "q16.16"), ("where 1 is 1", "where 1 is 0.7"), ("0.3", "4")),
    Kind("%", 0, 200, ("uq1.15", "q31", "uq1.7", "u8"), ("where 1 is 220 %",), ("0.4 %", "2 %")),
    Kind(
        "", 1, 900, ("s16", "s32", "q15.17"),
        ("is 500 * sqrt(value)", "is value^2 / 80", "is 2000 * exp(-value / 200)", "is 2000 * ln(value)",
         "is 5 * max(value, 70, 3 * value - 400)", "is 900 * sin(value / 90) - value", "is 10^(value / 250)"),
        ("0.4", "2", "1 %"),
    ),
)  # fmt: skip


def curve(chance: random.Random, coded: bool) -> str:
    """A range, taper, grid and engine of a param: every law and conversion, rising and falling, now and then
    flat about noon, within all tolerances and none."""
    of = chance.choice(KINDS)
    low = chance.randint(of.low, of.low + (of.high - of.low) // 4)
    half = chance.choice([1, 3, 20, 63, 64, 127, 128, 200, 450])
    high = low + 2 * min(half, (of.high - low) // 2)
    first, last = (low, high) if chance.random() < 0.7 else (high, low)
    taper, on_grid = _taper(chance, first, last, of.unit)
    if coded:
        bits = chance.choice([2, 3, 6, 8, 9, 10])
        grid = f"coded {bits} bits"
    else:
        grid = f"step 1 {of.unit}"
        if not on_grid:
            grid += f" default {chance.randint(low, high)} {of.unit}"
    flat = chance.choice(["", "", "flat for 6 % of travel", "flat for 12 % of travel"])
    within = chance.choice(["", f"within {chance.choice(of.tolerances)} or nearest"])
    engine = f"engine {chance.choice(of.formats)} {chance.choice(of.conversions)} {within}"
    speed = chance.choice(["", "", "prefer speed"])
    ends = f"range {first} {of.unit} .. {last} {of.unit}"
    return f"{ends} {taper} {grid} {flat if coded or on_grid else ''} {engine} {speed}"


def _taper(chance: random.Random, first: int, last: int, unit: str) -> tuple[str, bool]:
    """A taper, and whether its noon is a whole number."""
    width = last - first
    kind = chance.choice(["linear", "noon", "geometric", "audio", "s", "points"])
    if kind == "noon" and abs(width) > 2:
        noon = first + max(1, abs(width) * chance.randint(1, 9) // 10) * (1 if width > 0 else -1)
        return f"noon {noon} {unit}", True
    if kind == "geometric" and first * last > 0:
        return "taper geometric", False
    if kind == "audio":
        return f"taper audio {chance.choice([3, 10, 15, 40, 85])} %", False
    if kind == "s":
        return f"taper s {chance.choice([2, 8, 20])} %", True
    if kind == "points" and abs(width) > 8:
        at = [first + width * share // 16 for share in (1, 5, 13)]
        clock = chance.choice([("8:00", "9:30", "4:15"), ("7:20", "12:00", "2:00")])
        inner = " ".join(f"{time} {value} {unit}" for time, value in zip(clock, at, strict=True))
        return f"taper points {{ 7:00 {first} {unit} {inner} 5:00 {last} {unit} }}", clock[1] == "12:00"
    return "taper linear", True


def _trim(chance: random.Random, at: int) -> str:
    safe = chance.choice(["", "safe 3", "safe -7"])
    return f'trim t{at} "T" {{ range -7 .. {chance.choice([3, 200, 900])} step 1 nominal 0 {safe} }}'


def _knob(chance: random.Random, at: int) -> str:
    bits = chance.choice([8, 10, 10, 12])
    low, high = chance.randint(0, 40), (1 << bits) - 1 - chance.randint(0, 40)
    ends = f"{low} .. {high}" if chance.random() < 0.7 else f"{high} .. {low}"
    measured = chance.choice(["", "measured"])
    pot = chance.choice(
        ["", "pot linear", "pot audio 15 %", "pot audio 80 %", "pot s 10 %",
         "pot points { 7:00 0 %  10:00 6 %  12:00 30 %  5:00 100 % }"]
    )  # fmt: skip
    noise = f"noise {chance.choice([0, 1, 9])} counts"
    return f'knob K{at} "K" {{ adc {bits} bits ends {ends} {measured} {noise} {pot} }}'


def _power(chance: random.Random) -> str:
    kept = chance.choice(["", "kept once"])
    default = chance.choice(["engaged", "bypassed", "last"])
    return (
        'selector power_on "Power-on" { way engaged "Engaged" way bypassed "Bypassed" way last "Last"'
        f" default {default} {kept} }}"
    )


def drawn(text: str, words: Iterable[str]) -> set[str]:
    return {word for word in words if word in text}


def test_every_law_conversion_and_format_is_drawn() -> None:
    text = "\n".join(random_product(seed) for seed in range(PRODUCTS))
    words = ["taper linear", "taper geometric", "taper audio", "taper s", "taper points", "noon ", "flat for"]
    words += ["pot audio", "pot s", "pot points", "within 1 %", "or nearest", "prefer speed"]
    words += ["coded ", "step 1"]
    words += [word for kind in KINDS for word in (*kind.conversions, *kind.formats)]
    # Not every one of the expressions, tolerances and formats: with another seed others are left out.
    assert len(set(words) - drawn(text, words)) < 6
    conversions = {kind.conversions[0].partition(" at ")[0] for kind in KINDS}
    assert drawn(text, conversions) >= conversions - {"is 500 * sqrt(value)"}


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(0, PRODUCTS, 2))
def test_tables_by_chance_keep_what_mpmath_says(seed: int) -> None:
    layout = layout_of(random_product(seed))
    file = json.loads(to_json(layout))
    for values, engine in zip(engine_values(layout, file), layout.engines, strict=True):
        assert values.exact == 0 and values.surely, values
        assert values.differing == values.outside == [], values
        assert values.without == list(engine.proof.without)
    for codes in knob_codes(layout, file):
        assert codes.differing == codes.outside == [], codes


@pytest.mark.slow
@pytest.mark.needs("gcc", "avr-gcc", "arm-gcc")
@pytest.mark.parametrize("seed", range(PRODUCTS))
def test_a_product_by_chance(seed: int, tmp_path: Path) -> None:
    text = random_product(seed)
    chance = random.Random(-seed)
    emitted = emit(layout_of(text, trial=seed % 3 != 0), tmp_path)
    memories = [memory for _, memory in damaged_memories(emitted.file)]
    memories += [random_memory(emitted.file, chance) for _ in range(MEMORIES)]
    program = host([dump_program(emitted, len(memories)), emitted.source], [emitted.folder])
    run = run_host_board(program, eeprom=b"".join(memories))
    assert run.stdout == expected(emitted, memories), text
    avr_object(emitted.source, [emitted.folder])
    arm_object(emitted.source, "cortex-m0", [emitted.folder])
