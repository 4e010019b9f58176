"""Knobs after a recall, tap tempo and pedals: against plain models, on the host and on every chip."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.model.items import Param, Selector
from tests.target.chips import CHIPS, Chip, on_every_chip
from tests.target.emitted import Emitted, emit, layout_of
from tests.target.play_models import Follow, pedal_code, tempo
from tests.target.traces import END, PRODUCT, make, on_host, program, said, word

WAYS = ("leap", "meet", "converge")
NEW_LOOK = b"\x18"


@pytest.fixture(scope="module")
def emitted(tmp_path_factory: pytest.TempPathFactory) -> Emitted:
    return make(tmp_path_factory.mktemp("play"))


@pytest.fixture(scope="module")
def player(emitted: Emitted) -> Path:
    return program(emitted, CHIPS[0])


def number_of(emitted: Emitted, item: str) -> int:
    """The number of an item, as the header has it."""
    line = next(
        line for line in emitted.header.read_text(encoding="utf-8").splitlines()
        if line.startswith(f"#define PL_ITEM_{item.upper()} ")
    )  # fmt: skip
    return int(line.split()[2].rstrip("u"))


def put(emitted: Emitted, item: str, code: int) -> bytes:
    return b"\x19" + bytes([number_of(emitted, item)]) + word(code)


pytestmark = [pytest.mark.slow, pytest.mark.needs("gcc")]

# ---- after a recall

Turn = tuple[int, int | None]  # where the knob is, and a code that something else has set


def follow_trace(how: int, last: int, knob: int, code: int, turns: list[Turn], handed: bool) -> list[bytes]:
    events = [b"\x03" + word(knob) + word(code), *([b"\x05"] if handed else [])]
    model = Follow(knob, code, handed)
    now = code
    for at, other in turns:
        now = now if other is None else other
        events.append(b"\x04" + bytes([how]) + word(at) + word(now) + word(last))
        now = model.turn(WAYS[how], at, now, last)
    return events


def followed(how: int, last: int, knob: int, code: int, turns: list[Turn], handed: bool) -> list[int]:
    model = Follow(knob, code, handed)
    found, now = [], code
    for at, other in turns:
        now = model.turn(WAYS[how], at, now if other is None else other, last)
        found.append(now)
    return found


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_knobs_follow_as_the_model_does(player: Path, data: st.DataObject) -> None:
    last = data.draw(st.sampled_from([1, 2, 10, 127, 1180, 65535]))
    codes = st.integers(0, last)
    how, knob, code = data.draw(st.integers(0, 2)), data.draw(codes), data.draw(codes)
    handed = data.draw(st.booleans())
    turns = data.draw(st.lists(st.tuples(codes, st.one_of(st.none(), st.none(), codes)), max_size=30))
    lines = on_host(player, follow_trace(how, last, knob, code, turns, handed))
    got = [int(line[0]) for line in lines if line]
    assert got == followed(how, last, knob, code, turns, handed)


def sweep(player: Path, how: int, last: int, knob: int, code: int, way: list[int]) -> list[int]:
    lines = on_host(player, follow_trace(how, last, knob, code, [(at, None) for at in way], False))
    return [int(line[0]) for line in lines if line]


def test_leap_acts_at_once_and_not_before_it_is_turned(player: Path) -> None:
    assert sweep(player, 0, 100, 20, 70, [20, 20, 21, 22]) == [70, 70, 21, 22]


def test_meet_waits_until_it_passes_the_code(player: Path) -> None:
    assert sweep(player, 1, 100, 20, 70, [30, 69, 71, 60]) == [70, 70, 71, 60]
    assert sweep(player, 1, 100, 20, 70, [10, 90, 10]) == [70, 90, 10]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([10, 200, 4094]), st.randoms(use_true_random=False))
def test_converge_draws_nearer_and_arrives(player: Path, last: int, chance: random.Random) -> None:
    knob, code = chance.randrange(last + 1), chance.randrange(last + 1)
    rising = knob == 0 or (knob < last and chance.random() < 0.5)
    steps = sorted({chance.randrange(last + 1) for _ in range(40)}, reverse=not rising)
    way = [at for at in steps if (at > knob) == rising and at != knob] + [last if rising else 0]
    codes = [code, *sweep(player, 2, last, knob, code, way)]
    gaps = [abs(a - b) for a, b in zip(codes, [knob, *way], strict=True)]
    assert codes[-1] == way[-1] and gaps == sorted(gaps, reverse=True)
    turned = sorted(codes) if rising else sorted(codes, reverse=True)
    assert codes == turned  # the value goes the way of the hand


def test_a_knob_of_a_pedal_that_is_gone_does_not_leap(player: Path) -> None:
    turns: list[Turn] = [(30, None), (71, None), (20, None)]
    lines = on_host(player, follow_trace(0, 100, 20, 70, turns, True))
    assert [int(line[0]) for line in lines if line] == [70, 71, 20]


# ---- taps

TAPPED = """
product play "Play" { code 0x4C43 prefix pl revision 1 hardware "B" about "Echo" language en wakes bypassed
  first preset 1 supply 9 V dc centre negative 120 mA inside low voltage }
chip { size 1 KiB page 1 byte endurance 100_000 writes brown-out 2.7 V }
holds { identity 2 copies presets 2 slots spare 1 state 4 copies saves 30 per day }
panel { footswitch LEFT "Bypass", RIGHT "Tap" }
param time "Time" { %s }
selector beat "Beat" { way a "1" = 2 way b "1" = 1 way c "1" = 3/4 way d "1" = 1/3 default b }
mode main { press LEFT does bypass }
tap RIGHT sets time by beat { taps 4 gap 2 s fold %s }
preset 1 "One" { }
"""

TAP_PLAYER = """
#include "play.h"
#include "board.h"

int main(void)
{
    @_look look;
    @_taps taps;
    uint8_t read[4];
    uint32_t at = 0u;
    uint16_t code;
    uint8_t way;
    @_factory_state(&look);
    @_factory_preset(0u, &look);
    @_taps_begin(&taps);
    board_eeprom_read(at, read, 2u);
    while ((read[0] & read[1]) != 255u) {
        @_taps_wait(&taps, (uint16_t)(read[0] + (uint16_t)(read[1] * 256u)));
        @_tap_time(&taps);
        for (way = 0u; way < 4u; way++) {
            look.beat = way;
            code = 0xFFFFu;
            board_print_u32(@_tempo_time(&taps, &look, &code));
            board_putchar(' ');
            board_print_u32(code);
            board_putchar(' ');
        }
        board_putchar('\\n');
        at = at + 2u;
        board_eeprom_read(at, read, 2u);
    }
    return 0;
}
"""

GRIDS = {
    "steps of 1 ms": "range 20 ms .. 1200 ms noon 350 ms step 1 ms",
    "falling steps": "range 1200 ms .. 20 ms step 2.5 ms",
    "seconds": "range 0.05 s .. 2 s step 0.05 s default 1 s",
    "geometric codes": "range 20 ms .. 1200 ms taper geometric coded 9 bits",
    "falling codes": "range 1200 ms .. 20 ms taper geometric coded 6 bits",
    "even codes": "range 20 ms .. 1200 ms taper linear coded 8 bits",
}


def tap_text(grid: str, fold: str) -> str:
    return TAPPED % (GRIDS[grid], fold)


def gaps_for(chance: random.Random, count: int) -> list[int]:
    kinds = [chance.randrange(1, 2001), chance.randrange(200, 900), 2000, 2001, chance.randrange(1, 60)]
    return [0, *(chance.choice([*kinds, chance.randrange(300, 700)]) for _ in range(count - 1))]


def tap_lines(emitted: Emitted, gaps: list[int], fold: str) -> list[list[int]]:
    """What the model says after each tap, for each way of the selector."""
    product = emitted.layout.product
    param, beat = product.item("time"), product.item("beat")
    assert isinstance(param, Param) and isinstance(beat, Selector)
    stamps, lines = [0], []
    for at, gap in enumerate(gaps):
        stamps = [0] if at == 0 else [*stamps, stamps[-1] + gap]
        line = []
        for way in range(4):
            number = beat.way(way).number
            assert number is not None
            code = tempo(stamps, 4, 2000, number.number, param, fold)
            line += [0, 0xFFFF] if code is None else [1, code]
        lines.append(line)
    return lines


@pytest.mark.parametrize("fold", ["halve", "stop", "ignore"])
@pytest.mark.parametrize("grid", GRIDS)
def test_taps_ask_for_the_code_that_fractions_give(grid: str, fold: str, tmp_path: Path) -> None:
    chance = random.Random(f"{grid} {fold}")
    emitted = make_tapped(tmp_path, tap_text(grid, fold))
    gaps = gaps_for(chance, 300)
    runner = CHIPS[0].build([emitted.folder / "taps.c", emitted.source], include_dirs=[emitted.folder])
    run = CHIPS[0].run(runner, eeprom=b"".join(map(word, gaps)) + b"\xff\xff")
    got = [[int(one) for one in line.split()] for line in run.stdout.splitlines()]
    assert got == tap_lines(emitted, gaps, fold)
    said_something = {line[at] for line in got for at in (0, 2, 4, 6)}
    assert said_something == {0, 1}


def make_tapped(folder: Path, text: str) -> Emitted:
    emitted = emit(layout_of(text), folder)
    emitted.write("taps.c", TAP_PLAYER)
    return emitted


@pytest.mark.parametrize("grid", ["steps of 1 ms", "geometric codes"])
@pytest.mark.slow
@on_every_chip
def test_every_chip_counts_taps_alike(chip: Chip, grid: str, tmp_path: Path) -> None:
    emitted = make_tapped(tmp_path, tap_text(grid, "halve"))
    gaps = gaps_for(random.Random(7), 40)
    runner = chip.build([emitted.folder / "taps.c", emitted.source], include_dirs=[emitted.folder])
    run = chip.run(runner, eeprom=b"".join(map(word, gaps)) + b"\xff\xff")
    got = [[int(one) for one in line.split()] for line in run.stdout.splitlines()]
    assert got == tap_lines(emitted, gaps, "halve")


def test_beats_of_a_minute(player: Path, emitted: Emitted) -> None:
    """By hand: 120 beats a minute are 500 ms; half notes of 90 are 1333 1/3 ms, halved 666 2/3."""
    taps = [NEW_LOOK, b"\x06", b"\x08", b"\x07" + word(500), b"\x08", b"\x0a"]
    slow = [put(emitted, "beat", 0), b"\x06"]
    slow += [one for gap in (667, 666, 667) for one in (b"\x08", b"\x07" + word(gap))] + [b"\x08"]
    slow += [put(emitted, "taps_averaged", 2), b"\x0a"]
    lines = [line for line in on_host(player, [*taps, *slow]) if line]
    assert lines[0] == ["1", "480"] and lines[-1] == ["1", str(667 - 20)]


def test_a_tap_that_was_none_is_taken_back(player: Path) -> None:
    taps = [NEW_LOOK, b"\x06", b"\x08", b"\x07" + word(500), b"\x08", b"\x07" + word(100), b"\x08", b"\x09"]
    lines = on_host(player, [*taps, b"\x0a", b"\x09", b"\x0a", b"\x07" + word(300), b"\x08", b"\x0a"])
    told = [line for line in lines if line]
    assert told == [["1", "480"], ["0", "65535"], ["1", str(900 - 20)]]


# ---- pedals

HEEL_TOE = [(0, 100), (100, 0), (20, 60), (75, 10)]
TARGETS = ("repeats", "mix", "time")


def pedal(adc: int, ends: tuple[int, int]) -> bytes:
    return b"\x10" + word(adc) + word(ends[0]) + word(ends[1])


def shares(percent: tuple[int, int]) -> tuple[int, int]:
    low, high = (round(Fraction(share * 16384, 100)) for share in percent)
    return low, high


@pytest.mark.parametrize("target", range(3))
@pytest.mark.parametrize("percent", HEEL_TOE)
@pytest.mark.parametrize("ends", [(100, 3900), (3900, 100)])
def test_a_pedal_gives_the_code_at_its_share_of_travel(
    player: Path, emitted: Emitted, target: int, percent: tuple[int, int], ends: tuple[int, int]
) -> None:
    item = emitted.layout.product.item(TARGETS[target])
    chance = random.Random(f"{target} {percent} {ends}")
    counts = [chance.randrange(4070) for _ in range(150)]
    events = [NEW_LOOK, put(emitted, "target", target)]
    events += [put(emitted, "heel", percent[0]), put(emitted, "toe", percent[1]), b"\x0f"]
    start = len(events)
    lines = on_host(player, [*events, *(pedal(adc, ends) for adc in counts)])[start:]
    last: int | None = None
    for adc, line in zip(counts, lines, strict=True):
        codes = [
            pedal_code(item, near, ends, shares(percent))
            for near in (max(adc - 5, 0), adc, min(adc + 5, 4095))
        ]
        if last is None:
            assert line == ["0"]
            last = codes[1]
        elif min(codes[0], codes[2]) <= last <= max(codes[0], codes[2]):
            assert line == ["0"], (adc, last, codes)
        else:
            assert line == ["1", str(number_of(emitted, TARGETS[target])), str(codes[1])]
            last = codes[1]


def test_a_pedal_that_says_nothing_lets_go_once_and_comes_back_without_a_jump(
    player: Path, emitted: Emitted
) -> None:
    ends = (100, 3900)
    repeats = str(number_of(emitted, "repeats"))
    events = [NEW_LOOK, b"\x0f", *(pedal(adc, ends) for adc in (2000, 100, 4070, 4095, 3000, 3001, 3900))]
    lines = on_host(player, events)[2:]
    heel, gone, toe = ["1", repeats, "0"], ["2", repeats, "0"], ["1", repeats, "220"]
    assert lines == [["0"], heel, gone, ["0"], ["0"], ["0"], toe]
    same = on_host(player, [NEW_LOOK, b"\x0f", *(pedal(adc, (500, 500)) for adc in (0, 500, 4000))])
    assert same[2:] == [["0"]] * 3
    level = [put(emitted, "heel", 40), put(emitted, "toe", 40)]
    still = on_host(player, [NEW_LOOK, *level, b"\x0f", *(pedal(adc, ends) for adc in (0, 2000, 4000))])
    assert still[4:] == [["0"]] * 3


def test_learned_ends_are_heel_and_farthest_and_equal_ones_are_refused(player: Path) -> None:
    def learned(heel: int, *counts: int, least: int = 64) -> list[str]:
        steps = [b"\x12" + word(count) for count in counts]
        return on_host(player, [b"\x11" + word(heel), *steps, b"\x13" + word(least)])[-1]

    assert learned(200, 500, 3000, 3800, 3000) == ["1", "200", "3800"]
    assert learned(3800, 3000, 90, 200) == ["1", "3800", "90"]
    assert learned(200, 230, 190) == ["0", "1", "2"]
    assert learned(200) == ["0", "1", "2"]
    assert learned(200, least=0) == ["0", "1", "2"]


@pytest.mark.slow
@on_every_chip
def test_every_chip_follows_and_pedals_alike(chip: Chip, emitted: Emitted) -> None:
    chance = random.Random(3)
    turns: list[Turn] = [(chance.randrange(1181), None) for _ in range(25)]
    events = [one for how in range(3) for one in follow_trace(how, 1180, 400, 900, turns, how == 0)]
    wanted = [[str(code)] for how in range(3) for code in followed(how, 1180, 400, 900, turns, how == 0)]
    assert len(b"".join(events)) < 1000
    program_of = program(emitted, chip, ["FOLLOW"])
    run = chip.run(program_of, eeprom=b"".join(events) + END)
    assert [line for line in said(run.stdout) if line] == wanted
    steps = [NEW_LOOK, b"\x0f", *(pedal(chance.randrange(4096), (100, 3900)) for _ in range(80))]
    run = chip.run(program(emitted, chip, ["LOOK"]), eeprom=b"".join(steps) + END)
    assert said(run.stdout) == on_host(program(emitted, CHIPS[0]), steps)


def test_the_product_is_the_one_that_is_played() -> None:
    assert layout_of(PRODUCT).product.tap is not None
