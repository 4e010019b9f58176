"""Feet, jumpers and the events that they make: recorded timings, and random ones against a plain model."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.target.chips import CHIPS, Chip, on_every_chip
from tests.target.emitted import Emitted
from tests.target.play_models import ASK, CALM, DO, END, IDLE, NO_GESTURE, UNDO, Feet, Gesture
from tests.target.traces import END as STOP
from tests.target.traces import make, on_host, program, said, word

MAIN, DEEP, SERVICE = 0, 1, 2
LEFT, RIGHT, MIDDLE, MOVED, LINK = 1, 2, 4, 8, 16
NAMES = ("LEFT", "RIGHT", "MIDDLE")

# The gestures of play.paramc in the order of their numbers, said a second time.
(BYPASS, TRAILS, SWELL, NEXT, ENTER, LEAVE, LEARN, RESET, JUMPER, TAP) = range(10)
GESTURES = (
    Gesture("press", frozenset({"LEFT"})),
    Gesture("press", frozenset({"MIDDLE"})),
    Gesture("hold", frozenset({"RIGHT"}), hold=600, at_most=12000),
    Gesture("hold", frozenset({"LEFT", "RIGHT"}), hold=1000, undoes=True),
    Gesture("power up", frozenset({"LEFT", "RIGHT"}), hold=3000),
    Gesture("press", frozenset({"LEFT"}), mode=DEEP),
    Gesture("press", frozenset({"RIGHT"}), mode=DEEP),
    Gesture("hold", frozenset({"RIGHT"}), mode=DEEP, hold=2000, undoes=True, twice=True),
    Gesture("jumper", frozenset({"JP2"})),
    Gesture("press", frozenset({"RIGHT"})),
)

Step = tuple[int, int, int]  # elapsed, mode, bits


@pytest.fixture(scope="module")
def emitted(tmp_path_factory: pytest.TempPathFactory) -> Emitted:
    return make(tmp_path_factory.mktemp("play"))


@pytest.fixture(scope="module")
def player(emitted: Emitted) -> Path:
    return program(emitted, CHIPS[0], ["FEET"])


def model() -> Feet:
    return Feet(GESTURES, frozenset({MAIN}), {DEEP: 20000}, NAMES, ("JP2",))


def modelled(steps: list[Step]) -> list[list[tuple[int, int]]]:
    feet = model()
    return [
        feet.step(
            elapsed, mode, frozenset(name for at, name in enumerate(NAMES) if bits >> at & 1),
            bool(bits & MOVED), frozenset({"JP2"} if bits & LINK else ()),
        )
        for elapsed, mode, bits in steps
    ]  # fmt: skip


def trace(steps: list[Step]) -> list[bytes]:
    return [b"\x01", *(b"\x02" + word(elapsed) + bytes([mode, bits]) for elapsed, mode, bits in steps)]


def events(lines: list[list[str]]) -> list[list[tuple[int, int]]]:
    return [
        [(int(line[at]), int(line[at + 1])) for at in range(0, len(line), 2)] for line in lines[1:]
    ]


def recorded(*parts: tuple[int, int], mode: int = MAIN, tick: int = 1, first: int = 0) -> list[Step]:
    """Steps of tick ms: for each part so long, with so much down. One step before them."""
    steps = [(tick, mode, first)]
    for length, bits in parts:
        steps += [(tick, mode, bits)] * (length // tick)
    return steps


def timed(player: Path, steps: list[Step]) -> list[tuple[int, int, int]]:
    """When each event was told, in ms after the first step; the model has to say the same."""
    told = events(on_host(player, trace(steps)))
    assert told == modelled(steps)
    now, found = -steps[0][0], []
    for (elapsed, _, _), here in zip(steps, told, strict=True):
        now += elapsed
        found += [(now, gesture, what) for gesture, what in here]
    return found


pytestmark = pytest.mark.needs("gcc")


def test_a_press_acts_in_the_step_in_which_it_goes_down_and_bounces_do_not(player: Path) -> None:
    bounces = [(100, 0), *[(1, LEFT), (2, 0), (3, LEFT), (1, 0), (2, LEFT), (5, 0)], (80, LEFT)]
    release = [(2, 0), (3, LEFT), (1, 0), (9, LEFT), (60, 0)]
    assert timed(player, recorded(*bounces, *release)) == [(101, BYPASS, DO)]
    again = [(30, LEFT), (19, 0), (30, LEFT), (21, 0), (5, LEFT)]
    assert timed(player, recorded(*again)) == [(1, BYPASS, DO), (101, BYPASS, DO)]


def test_the_latency_of_a_press_is_nothing_at_every_tick(player: Path) -> None:
    for tick in (1, 2, 5, 10):
        assert timed(player, recorded((100, 0), (100, LEFT), tick=tick)) == [(100 + tick, BYPASS, DO)]


def test_a_hold_is_told_when_its_time_is_full_and_ends_when_it_is_let_go(player: Path) -> None:
    told = timed(player, recorded((1500, RIGHT), (50, 0)))
    assert told == [(1, TAP, DO), (601, SWELL, DO), (1521, SWELL, END)]


def test_while_held_lasts_at_most_its_time(player: Path) -> None:
    told = timed(player, recorded((14000, RIGHT), (50, 0), tick=10))
    assert told == [(10, TAP, DO), (610, SWELL, DO), (12610, SWELL, END)]


def test_a_hold_that_is_let_go_just_before_does_nothing(player: Path) -> None:
    assert timed(player, recorded((600, RIGHT), (100, 0))) == [(1, TAP, DO)]
    # It bounces at the very end of its time: told when it reads down again.
    assert timed(player, recorded((599, RIGHT), (10, 0), (5, RIGHT))) == [(1, TAP, DO), (610, SWELL, DO)]


def test_a_chord_gives_presses_back_whatever_lies_between_its_two_feet(player: Path) -> None:
    for between in (1, 2, 19, 50, 300, 590):
        told = timed(player, recorded((between, LEFT), (1100, LEFT | RIGHT), (300, RIGHT), (100, 0)))
        full = between + 1001
        assert told == [(1, BYPASS, DO), (full, BYPASS, UNDO), (full, NEXT, DO)]
    told = timed(player, recorded((1100, LEFT | RIGHT), (10, LEFT), (100, 0)))
    assert told == [(1001, NEXT, DO)]


def test_a_chord_that_is_let_go_does_nothing_until_all_are_up(player: Path) -> None:
    parts = [(100, LEFT), (500, LEFT | RIGHT), (3000, RIGHT), (100, LEFT | RIGHT), (100, LEFT)]
    parts += [(100, 0), (5, LEFT)]
    assert timed(player, recorded(*parts)) == [(1, BYPASS, DO), (3901, BYPASS, DO)]


def test_a_second_foot_ends_what_is_held(player: Path) -> None:
    told = timed(player, recorded((900, RIGHT), (500, LEFT | RIGHT), (900, RIGHT), (100, 0)))
    assert told == [(1, TAP, DO), (601, SWELL, DO), (901, SWELL, END)]


def test_three_feet_are_no_chord(player: Path) -> None:
    told = timed(player, recorded((2000, LEFT | RIGHT | MIDDLE), (2000, LEFT | RIGHT), (50, 0)))
    assert told == []


def test_power_up_needs_all_its_switches_from_the_first_step_on(player: Path) -> None:
    both = LEFT | RIGHT
    assert timed(player, recorded((3100, both), (50, 0), first=both)) == [(3000, ENTER, DO)]
    assert timed(player, recorded((3100, both), (50, 0), first=LEFT)) == []
    assert timed(player, recorded((2000, both), (3000, LEFT), (50, 0), (5, LEFT), first=both)) == [
        (5051, BYPASS, DO)
    ]
    assert timed(player, recorded((1500, both), (2000, both | MIDDLE), (50, 0), first=both)) == []


def test_the_feet_that_entered_a_mode_do_nothing_in_it(player: Path) -> None:
    both = LEFT | RIGHT
    steps = recorded((3000, both), first=both) + [(1, DEEP, both)] * 3000 + [(1, DEEP, 0)] * 30
    steps += [(1, DEEP, LEFT)] * 50
    assert timed(player, steps) == [(3000, ENTER, DO), (6031, LEAVE, DO)]


def test_a_destructive_deed_asks_and_is_forgotten(player: Path) -> None:
    hold, rest = (2100, RIGHT), (500, 0)
    first = [(1, LEARN, DO), (2001, LEARN, UNDO), (2001, RESET, ASK)]
    told = timed(player, recorded(hold, rest, hold, rest, mode=DEEP))
    assert told == [*first, (2601, LEARN, DO), (4601, LEARN, UNDO), (4601, RESET, DO)]
    told = timed(player, recorded(hold, (6000, 0), hold, mode=DEEP))
    assert told[3] == (7120, RESET, CALM) and told[-1][1:] == (RESET, ASK)
    told = timed(player, recorded(hold, rest, (50, LEFT), mode=DEEP))
    assert told == [*first, (2601, RESET, CALM), (2601, LEAVE, DO)]


def test_a_mode_is_left_after_its_time_with_nothing_moved(player: Path) -> None:
    steps = recorded((15000, 0), (10, MOVED), (19990, 0), (20, 0), mode=DEEP, tick=10)
    assert timed(player, steps) == [(35010, NO_GESTURE, IDLE)]


def test_a_jumper_acts_when_it_is_sure_and_ends_when_it_is_open(player: Path) -> None:
    told = timed(player, recorded((5, LINK), (5, 0), (400, LINK), (10, 0), (5, LINK), (100, 0)))
    assert told == [(31, JUMPER, DO), (446, JUMPER, END)]


def test_the_model_can_be_contradicted(player: Path) -> None:
    steps = recorded((1500, RIGHT), (50, 0))
    assert events(on_host(player, trace(steps))) != [*modelled(steps[:-1]), [(BYPASS, DO)]]


stretches = st.lists(
    st.tuples(
        st.sampled_from([1, 1, 2, 5, 19, 20, 21, 100, 250, 600, 1000, 3000]),
        st.sampled_from(
            [0, 0, LEFT, RIGHT, LEFT | RIGHT, LEFT, RIGHT, MIDDLE, LEFT | MIDDLE, 7, LINK, MOVED]
        ),
        st.sampled_from([MAIN, MAIN, MAIN, MAIN, DEEP, DEEP, SERVICE]),
        st.booleans(),
    ),
    min_size=1,
    max_size=24,
)


@pytest.mark.slow
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(stretches, st.sampled_from([1, 3, 7, 10, 25]))
def test_random_feet_are_as_the_model_says(
    player: Path, parts: list[tuple[int, int, int, bool]], tick: int
) -> None:
    steps: list[Step] = []
    mode = MAIN
    for length, bits, other, changes in parts:
        mode = other if changes else mode
        steps += [(tick, mode, bits)] * max(1, length // tick)
    told = events(on_host(player, trace(steps)))
    assert told == modelled(steps)
    assert all(len(here) <= 7 for here in told)


def short_trace() -> list[Step]:
    """Every kind of event, in few enough steps for the memory of the smallest chip."""
    both = LEFT | RIGHT
    parts = [
        (100, MAIN, both, 31), (1, DEEP, 0, 2), (100, DEEP, 0, 1), (100, DEEP, RIGHT, 22), (100, DEEP, 0, 2),
        (100, DEEP, RIGHT, 22), (100, DEEP, 0, 2), (100, DEEP, RIGHT, 22), (1000, DEEP, 0, 7),
        (10, DEEP, LEFT, 3), (10, MAIN, 0, 4), (1, MAIN, LEFT, 3), (100, MAIN, both, 12), (10, MAIN, 0, 4),
        (100, MAIN, RIGHT, 9), (10, MAIN, 0, 4), (10, MAIN, LINK, 4), (10, MAIN, 0, 4), (5000, DEEP, 0, 5),
    ]  # fmt: skip
    return [(elapsed, mode, bits) for elapsed, mode, bits, times in parts for _ in range(times)]


@pytest.mark.slow
@on_every_chip
def test_every_chip_says_the_same(chip: Chip, emitted: Emitted) -> None:
    steps = short_trace()
    data = b"".join(trace(steps)) + STOP
    assert len(data) <= 1024
    wanted = modelled(steps)
    assert {what for here in wanted for _, what in here} == {DO, END, UNDO, ASK, CALM, IDLE}
    run = chip.run(program(emitted, chip, ["FEET"]), eeprom=data)
    assert events(said(run.stdout)) == wanted
