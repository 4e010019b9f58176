"""From what a potentiometer gives to a code: whole tables against single readings, and these by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.model.laws import Points, SCurve, Straight, ThreePoint, through_flat, travel_of_reading
from paramc.model.panel import Knob
from paramc.model.readings import code_of_reading, codes_of_counts, codes_of_readings
from paramc.model.scale import Coded, Geometric, Law, Scale, Stepped
from paramc.numbers.units import SPELLINGS
from tests.unit.model.laws import laws

F = Fraction
AUDIO = ThreePoint(F(1, 10))
# Shares of the end to end value as a meter gives them.
SHARES = ("0", "0.03", "0.15", "0.5", "1")
MEASURED = Points(tuple((F(n, 4), F(share)) for n, share in enumerate(SHARES)))
POTS = [Straight(), AUDIO, ThreePoint(F(9, 10)), SCurve(F(1, 10)), MEASURED]


def scale(unit: str, first: str, last: str, law: Law, grid: Stepped | Coded, off: bool = False) -> Scale:
    return Scale(SPELLINGS[unit], F(first), F(last), law, grid, off)


SCALES = {
    "time": scale("ms", "20", "1200", ThreePoint(F(350)), Stepped(F(1))),
    "falling": scale("Hz", "12000", "80", Geometric(), Stepped(F(10))),
    "tilt": scale("%", "-100", "100", Straight(), Stepped(F(2))),
    "s": scale("%", "0", "100", SCurve(F(1, 10)), Stepped(F(1, 2))),
    "points": scale("%", "0", "1", MEASURED, Stepped(F(1, 200))),
    "coded": scale("Hz", "80", "12000", ThreePoint(F(1100)), Coded(7)),
    "off": scale("dB", "-60", "12", ThreePoint(F(0)), Stepped(F(1)), True),
}


@pytest.mark.parametrize("name", SCALES)
@pytest.mark.parametrize("pot", POTS, ids=lambda pot: type(pot).__name__)
@pytest.mark.parametrize("flat", [F(0), F(6, 100)], ids=["no flat", "flat"])
def test_tables_agree_with_single_readings(name: str, pot: Law, flat: Fraction) -> None:
    of, top = SCALES[name], 127
    found = codes_of_readings(of, top, pot, flat)
    assert found == tuple(code_of_reading(of, F(n, top), pot, flat) for n in range(top + 1))
    assert (found[0], found[-1]) == (0, of.codes - 1)
    assert list(found) == sorted(found), "it never turns back"


@pytest.mark.parametrize("name", ["time", "tilt", "off"])
@pytest.mark.parametrize("ends", [(3, 250), (250, 3), (0, 9), (101, 140)])
def test_counts_go_through_the_readings_that_they_are(name: str, ends: tuple[int, int]) -> None:
    of, knob, flat = SCALES[name], Knob("K", "K", 8, ends, law=AUDIO), F(6, 100)
    counts = range(ends[0], ends[1] + 1) if ends[0] < ends[1] else range(ends[0], ends[1] - 1, -1)
    found = codes_of_counts(of, knob.top, knob.law, flat, abs(ends[1] - ends[0]))
    assert found == tuple(
        code_of_reading(of, F(knob.reading_of(count), knob.top), knob.law, flat) for count in counts
    )


@settings(deadline=None, max_examples=40)
@given(st.data(), st.integers(1, 40), st.integers(0, 12), st.sampled_from([3, 15, 31]))
def test_any_law_through_any_potentiometer(data: st.DataObject, steps: int, percent: int, top: int) -> None:
    first, last = data.draw(st.sampled_from([(F(1), F(41)), (F(41), F(1)), (F(-3), F(5))]))
    law, pot = data.draw(laws(first, last)), data.draw(laws(F(0), F(1)))
    grid = data.draw(st.sampled_from([Stepped(abs(last - first) / steps), Coded(5)]))
    of, flat = Scale(SPELLINGS["ms"], first, last, law, grid), F(percent, 100)
    singly = []
    for n in range(top + 1):
        travel = through_flat(travel_of_reading(pot, F(n, top)), flat)
        singly.append(of.nearest_code(of.at(travel)))
    assert list(codes_of_readings(of, top, pot, flat)) == singly
    assert singly == sorted(singly)


def test_without_pot_and_flat_it_is_the_code_at_the_travel() -> None:
    for of in SCALES.values():
        assert codes_of_readings(of, 63) == tuple(of.code_at(F(n, 63)) for n in range(64))


@pytest.mark.parametrize("name", SCALES)
def test_inside_the_flat_every_reading_gives_noon(name: str) -> None:
    of, top, flat = SCALES[name], 1023, F(6, 100)
    noon = of.code_at(F(1, 2))
    found = codes_of_readings(of, top, flat=flat)
    inside = [n for n in range(top + 1) if abs(F(n, top) - F(1, 2)) <= flat / 2]
    assert {found[n] for n in inside} == {noon}
    assert len(inside) == 62
    # A twentieth of the travel counts as 0.05 / 0.94.
    assert found[51] == of.code_at(F(51, 1023) / F(94, 100))
    assert found[1023 - 51] == of.code_at(1 - F(51, 1023) / F(94, 100))


def test_an_audio_potentiometer_undone_by_hand() -> None:
    """Half way round an audio potentiometer of 10 % gives 10 %, three quarters give 32.5 %; the item is
    linear in a hundred steps."""
    of = scale("%", "0", "100", Straight(), Stepped(F(1)))
    for share, code in (("0", 0), ("0.025", 25), ("0.1", 50), ("0.325", 75), ("1", 100)):
        assert code_of_reading(of, F(share), AUDIO) == code
    # Measured in points: 9 % lies on the cubic between a quarter and a half of the travel.
    assert code_of_reading(of, F("0.03"), MEASURED) == 25
    assert code_of_reading(of, F("0.15"), MEASURED) == 50
    assert 25 < code_of_reading(of, F("0.09"), MEASURED) < 50


def test_a_law_through_itself_is_straight() -> None:
    """An audio taper read from an audio potentiometer of the same law goes as the reading does, ties and
    all: half steps are met exactly, at travels that are no fractions."""
    of = scale("%", "0", "100", ThreePoint(F(10)), Stepped(F(25)))
    assert codes_of_readings(of, 8, AUDIO) == (0, 0, 1, 2, 2, 2, 3, 4, 4)
    measured = scale("%", "0", "1", MEASURED, Stepped(F(1, 4)))
    assert codes_of_readings(measured, 8, MEASURED) == (0, 0, 1, 2, 2, 2, 3, 4, 4)


def test_twelve_bits_need_exact_numbers_only_here_and_there(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []
    monkeypatch.setattr("paramc.model.readings.nearest", lambda number: asked.append(number) or 0)
    for of in (SCALES["time"], SCALES["falling"], SCALES["s"]):
        codes_of_readings(of, 4095, AUDIO, F(6, 100))
    assert 0 < len(asked) < 30
