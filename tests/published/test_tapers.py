"""Tapers against published curves: points against SciPy, halves of the s taper and audio potentiometers
against tables of the laws that they are made of."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from paramc.model.laws import Law, Points, SCurve, ThreePoint, travel_of_reading, value_at
from paramc.numbers.arithmetic import NEARS, REALS
from paramc.numbers.real import Real, add, compare, multiply, nearest
from tests.unit.model.laws import points

F = Fraction


def shows(number: Real, published: str) -> None:
    """The number, rounded to the last digit that is published, is what is published."""
    places = len(published.partition(".")[2])
    assert F(nearest(multiply(number, F(10**places))), 10**places) == F(published)


def share_at(law: Law, travel: Fraction) -> Real:
    return value_at(REALS, law, F(0), F(1))(travel)


# ---- points: scipy.interpolate.PchipInterpolator, which cites Fritsch and Butland 1984 and Moler 2004


def agrees_with_scipy(law: Points, first: Fraction, last: Fraction) -> None:
    theirs = PchipInterpolator([float(x) for x, _ in law.points], [float(y) for _, y in law.points])
    ours, near = value_at(REALS, law, first, last), value_at(NEARS, law, first, last)
    width = abs(float(last - first))
    for n in range(201):
        x = F(n, 200)
        exact = ours(x)
        assert isinstance(exact, Fraction)
        published = float(theirs(float(x)))
        assert float(exact) == pytest.approx(published, rel=1e-12, abs=1e-12 * width)
        value, error = near(NEARS.of(x))
        assert abs(value - published) <= max(error, 1e-12 * width)


@pytest.mark.parametrize(
    "values",
    [
        # Seven points: a filter's corner in Hz, rising and falling.
        (80, 200, 500, 1100, 3000, 8000, 12000),
        (12000, 8000, 3000, 1100, 500, 200, 80),
        # An audio potentiometer of two straight pieces; one of three, reverse.
        ("0", "0.05", "0.1", "0.55", "1"),
        ("0", "0.5", "0.9", "0.95", "1"),
        # Ends that would turn back and are held flat: next to steep pieces.
        (0, 1, 100, 101),
        (0, 99, 100, 199),
        (0, 1, 30),
        (30, 1, 0),
        (20, 1200),
        (-3, -1, 0, 5),
    ],
)
def test_points_agree_with_scipy(values: tuple[int | str, ...]) -> None:
    heights = [F(value) for value in values]
    law = Points(tuple((F(n, len(heights) - 1), y) for n, y in enumerate(heights)))
    agrees_with_scipy(law, heights[0], heights[-1])


def test_points_at_unequal_clock_positions_agree_with_scipy() -> None:
    """7:00, 8:30, 12:00, 1:15, 5:00."""
    travels = (F(0), F(3, 20), F(1, 2), F(5, 8), F(1))
    law = Points(tuple(zip(travels, (F(20), F(25), F(350), F(380), F(1200)), strict=True)))
    agrees_with_scipy(law, F(20), F(1200))


@settings(deadline=None, max_examples=25)
@given(st.data(), st.sampled_from([(F(0), F(1)), (F(40), F(-7)), (F(20), F(12000))]))
def test_any_points_agree_with_scipy(data: st.DataObject, ends: tuple[Fraction, Fraction]) -> None:
    agrees_with_scipy(data.draw(points(*ends)), *ends)


# ---- the s taper: below noon it is half a power law x^p of twice the travel, p = lg m / lg 1/2, with m twice
# the share at a quarter. The shares of power laws through a middle m: arithmetic of the definition.
@pytest.mark.parametrize(
    ("percent", "published"),
    [
        (5, (".00048", ".01000", ".10", ".38456", ".70469")),
        ("7.5", (".00183", ".02250", ".15", ".45504", ".74949")),
        (10, (".00477", ".04000", ".20", ".51274", ".78299")),
    ],
)
def test_halves_of_the_s_taper_are_power_laws(percent: int | str, published: tuple[str, ...]) -> None:
    law = SCurve(F(percent) / 100)
    for x, expected in zip(("0.10", "0.25", "0.50", "0.75", "0.90"), published, strict=True):
        half = share_at(law, F(x) / 2)
        shows(multiply(half, F(2)), expected)
        mirrored = share_at(law, 1 - F(x) / 2)
        assert compare(add(half, mirrored), F(1)) == 0


# ---- potentiometers undone: the exponential through a middle; 10 % is "10 % AUD" in the data sheet CTS 450,
# revision B of 2020-05-20, the others are common practice. The figures have five places.
@pytest.mark.parametrize(
    ("middle", "published"),
    [
        ("0.05", (".00223", ".00933", ".05", ".22728", ".55371")),
        ("0.10", (".00690", ".02500", ".10", ".32500", ".63995")),
        ("0.15", (".01333", ".04437", ".15", ".40144", ".69744")),
        ("0.20", (".02130", ".06667", ".20", ".46667", ".74172")),
    ],
)
def test_an_audio_potentiometer_undone(middle: str, published: tuple[str, ...]) -> None:
    law = ThreePoint(F(middle))
    for x, share in zip(("0.10", "0.25", "0.50", "0.75", "0.90"), published, strict=True):
        half_place = F("0.000005")
        assert compare(travel_of_reading(law, F(share) - half_place), F(x)) <= 0
        assert compare(travel_of_reading(law, F(share) + half_place), F(x)) >= 0
    assert travel_of_reading(law, F(middle)) == F(1, 2)
    # Reverse audio is 1 - f(1 - x).
    reverse = ThreePoint(1 - F(middle))
    for share in published:
        mirrored = add(travel_of_reading(reverse, 1 - F(share)), travel_of_reading(law, F(share)))
        assert compare(mirrored, F(1)) == 0
