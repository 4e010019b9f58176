"""Products by chance: any checksum, order and page, narrow and wide fields, with and without each kind."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from paramc.numbers.crc import CATALOGUE
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
    kind = chance.choice(["param", "param", "coded", "selector", "flag"])
    if kind == "flag":
        return f'flag i{at} "I" {{ default {chance.choice(["on", "off"])} {kept} }}'
    if kind == "selector":
        ways = chance.choice([2, 3, 4, 5, 16, 17])
        listed = " ".join(f'way w{way} "W{way}"' for way in range(ways))
        engine = chance.choice(["", "engine u8", "engine s32"])
        return f'selector i{at} "I" {{ {listed} default w{chance.randrange(ways)} {kept} {engine} }}'
    if kind == "coded":
        bits = chance.choice([2, 3, 8, 9, 12])
        return (
            f'param i{at} "I" {{ range 100 Hz .. 1000 Hz taper geometric coded {bits} bits {kept}'
            " engine u32 as phase at 48 kHz within 1 % or nearest }"
        )
    steps = chance.choice([1, 2, 3, 127, 128, 255, 256, 257, 1000])
    low = chance.choice([0, -5, 40])
    ends = f"{low} .. {low + steps}" if chance.random() < 0.7 else f"{low + steps} .. {low}"
    engine = chance.choice(
        ["", "engine s32 where 1 is 1", "engine s16 where 1 is 3", "engine q31 where 1 is 100000"]
    )
    default = low + chance.randint(0, steps)
    return f'param i{at} "I" {{ range {ends} step 1 default {default} {kept} {engine} }}'


def _trim(chance: random.Random, at: int) -> str:
    safe = chance.choice(["", "safe 3", "safe -7"])
    return f'trim t{at} "T" {{ range -7 .. {chance.choice([3, 200, 900])} step 1 nominal 0 {safe} }}'


def _knob(chance: random.Random, at: int) -> str:
    bits = chance.choice([8, 10, 10, 12])
    low, high = chance.randint(0, 40), (1 << bits) - 1 - chance.randint(0, 40)
    ends = f"{low} .. {high}" if chance.random() < 0.7 else f"{high} .. {low}"
    measured = chance.choice(["", "measured"])
    return (
        f'knob K{at} "K" {{ adc {bits} bits ends {ends} {measured} noise {chance.choice([0, 1, 9])} counts }}'
    )


def _power(chance: random.Random) -> str:
    kept = chance.choice(["", "kept once"])
    default = chance.choice(["engaged", "bypassed", "last"])
    return (
        'selector power_on "Power-on" { way engaged "Engaged" way bypassed "Bypassed" way last "Last"'
        f" default {default} {kept} }}"
    )


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
