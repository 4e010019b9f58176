"""Laws of travel: what they promise, what undoes them, the flat, the potentiometer."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from math import isfinite

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from paramc.model.laws import (
    Geometric,
    Law,
    Points,
    SCurve,
    Straight,
    ThreePoint,
    is_sound,
    through_flat,
    travel_at,
    travel_of_reading,
    value_at,
)
from paramc.numbers.arithmetic import NEARS, REALS
from paramc.numbers.doubles import Near
from paramc.numbers.irrational import Irrational
from paramc.numbers.real import Real, add, compare, divide, ln, multiply, power, subtract, to_text
from tests.unit.model.laws import in_doubles, laws

F = Fraction
SEVEN = Points(tuple((F(n, 6), F(hz)) for n, hz in enumerate((80, 200, 500, 1100, 3000, 8000, 12000))))


def value(law: Law, first: str, last: str, travel: Real) -> Real:
    return value_at(REALS, law, F(first), F(last))(travel)


def travel(law: Law, first: str, last: str, of: Real) -> Real:
    return travel_at(REALS, law, F(first), F(last))(of)


# ---- the s taper


@pytest.mark.parametrize("percent", ["1", "7", "10", "12.5", "24.9"])
def test_the_s_taper_at_its_quarters_is_exact(percent: str) -> None:
    law, share = SCurve(F(percent) / 100), F(percent)
    points = [("0", F(0)), ("1/4", share), ("1/2", F(50)), ("3/4", 100 - share), ("1", F(100))]
    for x, wanted in points:
        assert value(law, "0", "100", F(x)) == wanted
        assert value(law, "100", "0", F(x)) == 100 - wanted
        assert travel(law, "0", "100", wanted) == F(x)


def test_the_s_taper_by_hand() -> None:
    """P = 12.5 %: p = log2(50 / 12.5) = 2, so that the halves are parabolas."""
    law = SCurve(F(1, 8))
    for n in range(11):
        x = F(n, 10)
        wanted = 2 * x * x if x <= F(1, 2) else 1 - 2 * (1 - x) ** 2
        assert value(law, "0", "1", x) == wanted
        assert travel(law, "0", "1", wanted) == x


def test_the_s_taper_is_steepest_at_noon() -> None:
    law = SCurve(F(1, 10))
    values = [value(law, "0", "1", F(n, 20)) for n in range(21)]
    steps = [subtract(after, before) for before, after in pairwise(values)]
    for before, after in pairwise(steps[:10]):
        assert compare(after, before) == 1
    for step, mirrored in zip(steps, reversed(steps), strict=True):
        assert compare(step, mirrored) == 0


# ---- points


def test_points_are_met_and_two_are_a_straight_line() -> None:
    for x, y in SEVEN.points:
        assert value(SEVEN, "80", "12000", x) == y
        assert travel(SEVEN, "80", "12000", y) == x
    two = Points(((F(0), F(20)), (F(1), F(1200))))
    for n in range(11):
        assert value(two, "20", "1200", F(n, 10)) == 20 + F(1180 * n, 10)


def test_points_by_hand() -> None:
    """(0, 0), (1/2, 1), (1, 3): rises 2 and 4. The slope at noon is their harmonic mean 8/3; at the ends
    (3 rise - next) / 2, 1 and 5. A quarter is 1/2 - (8/3 - 1) / 16."""
    law = Points(((F(0), F(0)), (F(1, 2), F(1)), (F(1), F(3))))
    assert value(law, "0", "3", F(1, 4)) == F(1, 2) - (F(8, 3) - 1) / 16
    assert value(law, "0", "3", F(3, 4)) == 2 + (F(8, 3) - 5) / 16
    # Where the parabola of the end would turn back the end is flat: rises 1/2 and 7/2, (3/2 - 7/2) / 2 < 0.
    steep = Points(((F(0), F(0)), (F(1, 2), F(1, 4)), (F(1), F(2))))
    near_end = value(steep, "0", "2", F(1, 10**6))
    assert 0 < near_end < F(1, 10**11)


# ---- all of them


@settings(deadline=None, max_examples=150)
@given(st.data(), st.integers(-50, 50), st.integers(-50, 50), st.fractions(0, 1, max_denominator=500))
def test_values_travels_and_doubles_agree(data: st.DataObject, first: int, last: int, x: Fraction) -> None:
    assume(first != last)
    law = data.draw(laws(F(first), F(last)))
    assert is_sound(law, F(first), F(last))
    exact, undo = value_at(REALS, law, F(first), F(last)), travel_at(REALS, law, F(first), F(last))
    found = exact(x)
    rough = in_doubles(law, first, last, float(x))
    assert float(to_text(found, 15)) == pytest.approx(rough, rel=1e-9, abs=1e-9)
    assert compare(undo(found), x) == 0
    _keeps(value_at(NEARS, law, F(first), F(last)), NEARS.of(x), found)
    _keeps(travel_at(NEARS, law, F(first), F(last)), NEARS.of(found), x)


def _keeps(function: Callable[[Near], Near], near: Near, exact: Real) -> None:
    value, error = function(near)
    if isfinite(error):
        assert compare(exact, F(value) - F(error)) >= 0 >= compare(exact, F(value) + F(error))


@settings(deadline=None, max_examples=60)
@given(st.data(), st.lists(st.fractions(0, 1, max_denominator=300), min_size=2, max_size=2, unique=True))
def test_never_turns_back(data: st.DataObject, both: list[Fraction]) -> None:
    first, last = data.draw(st.sampled_from([(F(3), F(40)), (F(40), F(3)), (F(-1), F(-9))]))
    law = data.draw(laws(first, last))
    one, other = sorted(both)
    order = compare(value_at(REALS, law, first, last)(other), value_at(REALS, law, first, last)(one))
    assert order == (1 if last > first else -1)


def test_doubles_know_nearly_all() -> None:
    for law in (Straight(), Geometric(), ThreePoint(F(1100)), SCurve(F(1, 10)), SEVEN):
        there, back = (make(NEARS, law, F(80), F(12000)) for make in (value_at, travel_at))
        known = 0
        for n in range(1, 400):
            value, error = there(NEARS.ratio(n, 400))
            known += error < 1e-7 and back((value, error))[1] < 1e-9
        assert known > 390


def test_irrational_travel() -> None:
    root = power(F(1, 2), F(1, 2))
    assert compare(value(Straight(), "0", "10", root), multiply(root, F(10))) == 0
    assert value(Geometric(), "1", "2", divide(ln(F(3, 2)), ln(F(2)))) == F(3, 2)
    found = value(SCurve(F(1, 8)), "0", "1", root)
    assert compare(found, subtract(F(1), multiply(power(subtract(F(1), root), F(2)), F(2)))) == 0
    law = Points(((F(0), F(0)), (F(1, 2), F(1)), (F(1), F(3))))
    assert to_text(value(law, "0", "3", root), 12) == to_text(F(str(in_doubles(law, 0, 3, 0.5**0.5))), 12)


def test_travels_are_fractions_where_that_can_be_proved() -> None:
    assert travel(Geometric(), "110", "7040", F(440)) == F(1, 3)
    assert travel(Geometric(), "-60", "-3", F(-60)) == 0
    assert travel(ThreePoint(F(10)), "0", "100", F("2.5")) == F(1, 4)
    assert travel(ThreePoint(F(350)), "20", "1200", F(350)) == F(1, 2)
    assert travel(ThreePoint(F(90)), "0", "100", F(90)) == F(1, 2)
    assert isinstance(travel(ThreePoint(F(10)), "0", "100", F(3)), Irrational)
    assert travel(Straight(), "12000", "80", F(6040)) == F(1, 2)


@pytest.mark.parametrize(
    ("law", "first", "last", "sound"),
    [
        (Straight(), 0, 1, True), (Straight(), 1, 1, False),
        (Geometric(), 1, 2, True), (Geometric(), -1, -2, True), (Geometric(), 0, 1, False),
        (Geometric(), -1, 1, False),
        (ThreePoint(F(5)), 0, 10, True), (ThreePoint(F(5)), 10, 0, True), (ThreePoint(F(0)), 0, 10, False),
        (ThreePoint(F(10)), 0, 10, False), (ThreePoint(F(11)), 0, 10, False),
        (SCurve(F(1, 5)), 0, 1, True), (SCurve(F(1, 4)), 0, 1, False), (SCurve(F(0)), 0, 1, False),
        (SEVEN, 80, 12000, True), (SEVEN, 12000, 80, False), (SEVEN, 81, 12000, False),
        (Points(SEVEN.points[:-1]), 80, 12000, False), (Points(()), 0, 1, False),
        (Points(((F(0), F(0)),)), 0, 1, False),
        (Points(((F(0), F(0)), (F(1), F(1)))), 0, 1, True),
        (Points(((F(0), F(1)), (F(1), F(0)))), 1, 0, True),
        (Points(((F(0), F(0)), (F(0), F(1, 2)), (F(1), F(1)))), 0, 1, False),
        (Points(((F(0), F(0)), (F(1, 2), F(0)), (F(1), F(1)))), 0, 1, False),
        (Points(((F(0), F(0)), (F(1, 2), F(2)), (F(1), F(1)))), 0, 1, False),
    ],
)  # fmt: skip
def test_which_laws_are_sound(law: Law, first: int, last: int, sound: bool) -> None:
    assert is_sound(law, F(first), F(last)) is sound


# ---- the flat


def by_cases(x: Fraction, percent: int) -> Fraction:
    """As the language says it."""
    half, rest = F(percent, 200), 1 - F(percent, 100)
    if x < F(1, 2) - half:
        return x / rest
    if x > F(1, 2) + half:
        return 1 - (1 - x) / rest
    return F(1, 2)


@given(st.fractions(0, 1, max_denominator=1000), st.integers(1, 12))
@example(F(1, 2), 6)
@example(F(47, 100), 6)
@example(F(53, 100), 6)
@example(F(0), 12)
@example(F(1), 12)
def test_the_flat(x: Fraction, percent: int) -> None:
    assert through_flat(x, F(percent, 100)) == by_cases(x, percent)
    assert through_flat(x, F(0)) == x


def test_the_flat_of_an_irrational_travel() -> None:
    root = power(F(2), F(1, 2))
    assert compare(through_flat(divide(root, F(4)), F(6, 100)), divide(root, F("3.76"))) == 0
    assert through_flat(add(F(1, 2), divide(root, F(100))), F(6, 100)) == F(1, 2)


# ---- the potentiometer


def test_what_a_potentiometer_gives_is_undone() -> None:
    audio, reverse = ThreePoint(F(1, 10)), ThreePoint(F(9, 10))
    assert travel_of_reading(Straight(), F(3, 10)) == F(3, 10)
    assert travel_of_reading(audio, F(1, 10)) == F(1, 2)
    assert travel_of_reading(audio, F(325, 1000)) == F(3, 4)
    assert travel_of_reading(reverse, F(9, 10)) == F(1, 2)
    assert travel_of_reading(SCurve(F(1, 10)), F(1, 10)) == F(1, 4)
    measured = Points(((F(0), F(0)), (F(1, 2), F(15, 100)), (F(1), F(1))))
    assert travel_of_reading(measured, F(15, 100)) == F(1, 2)
    for law in (Straight(), audio, reverse, SCurve(F(1, 10)), measured):
        assert travel_of_reading(law, F(0)) == 0
        assert travel_of_reading(law, F(1)) == 1


@settings(deadline=None, max_examples=60)
@given(laws(F(0), F(1)), st.fractions(0, 1, max_denominator=300))
def test_a_potentiometer_undone_and_done_is_as_it_was(law: Law, share: Fraction) -> None:
    there = value_at(REALS, law, F(0), F(1))(travel_of_reading(law, share))
    assert compare(there, share) == 0
