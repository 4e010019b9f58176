"""Tapers and grids: published shares of travel, exact ties, both directions."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from paramc.model.scale import (
    Coded,
    Geometric,
    Law,
    Points,
    Scale,
    SCurve,
    Stepped,
    Straight,
    ThreePoint,
    noon_claim_holds,
    noon_reach,
)
from paramc.numbers.real import compare, to_text
from paramc.numbers.units import SPELLINGS
from tests.unit.model.laws import in_doubles, laws

MS = SPELLINGS["ms"]
F = Fraction


def scale(first: str, last: str, law: Law, grid: Stepped | Coded) -> Scale:
    return Scale(MS, F(first), F(last), law, grid)


# Exponential through a given mid-point, b = ((1 - m) / m)^2: common practice; the shares were
# computed from that formula by a program of its own, to five places.
@pytest.mark.parametrize(
    ("percent", "shares"),
    [
        (5, (".00223", ".00933", ".05", ".22728", ".55371")),
        (10, (".00690", ".02500", ".10", ".32500", ".63995")),
        (15, (".01333", ".04437", ".15", ".40144", ".69744")),
        (20, (".02130", ".06667", ".20", ".46667", ".74172")),
        (25, (".03072", ".09151", ".25", ".52452", ".77808")),
    ],
)
def test_shares_of_the_three_point_law(percent: int, shares: tuple[str, ...]) -> None:
    law = scale("0", "1", ThreePoint(F(percent, 100)), Coded(8))
    for travel, share in zip(("0.1", "0.25", "0.5", "0.75", "0.9"), shares, strict=True):
        found = law.at(F(travel))
        assert abs(float(to_text(found, 12)) - float(share)) <= 0.5e-5


def test_the_designers_example() -> None:
    """Gain 6 / 18 / 36 dB turned to 6 / 21 / 33: quarter 11.4 to 13.9, three-quarter 26.1 to 27.3."""
    for noon, last, quarter, late in (("18", "36", 11.4, 26.1), ("21", "33", 13.9, 27.3)):
        law = scale("6", last, ThreePoint(F(noon)), Stepped(F(1, 2)))
        assert float(to_text(law.at(F(1, 4)), 9)) == pytest.approx(quarter, abs=0.05)
        assert float(to_text(law.at(F(3, 4)), 9)) == pytest.approx(late, abs=0.05)
        assert law.at(F(1, 2)) == F(noon)


def test_three_points_hold_the_geometric_law() -> None:
    """110 Hz to 7040 Hz is six octaves; its geometric middle is 880 Hz."""
    one = scale("110", "7040", Geometric(), Coded(10))
    other = scale("110", "7040", ThreePoint(F(880)), Coded(10))
    assert one.at(F(1, 2)) == 880
    assert one.at(F(1, 3)) == 440
    for code in (1, 100, 511, 800, 1021):
        assert to_text(one.value(code), 25) == to_text(other.value(code), 25)


def test_ends_and_noon_are_exact() -> None:
    for law in (Straight(), Geometric(), ThreePoint(F(350))):
        for first, last in (("20", "1200"), ("1200", "20")):
            found = scale(first, last, law, Coded(10))
            assert found.at(F(0)) == F(first)
            assert found.at(F(1)) == F(last)
            assert found.codes == 1023
            assert found.code_at(F(1, 2)) == 511
    assert scale("20", "1200", ThreePoint(F(350)), Coded(10)).value(511) == 350


def test_steps_both_ways() -> None:
    falling = scale("-6", "-42", Straight(), Stepped(F(1, 2)))
    assert falling.codes == 73
    assert falling.value(0) == -6
    assert falling.value(36) == -24
    assert falling.value(72) == -42
    assert falling.exact_code(F(-24)) == 36
    assert falling.exact_code(F("-24.25")) is None
    assert falling.exact_code(F(-43)) is None
    assert (falling.low, falling.high) == (-42, -6)
    assert falling.holds(F(-6))
    assert not falling.holds(F(0))


def test_ties_go_to_the_even_code() -> None:
    steps = scale("0", "10", Straight(), Stepped(F(1)))
    assert [steps.nearest_code(F(n) + F(1, 2)) for n in range(4)] == [0, 2, 2, 4]
    assert steps.code_at(F(1, 20)) == 0
    assert steps.code_at(F(3, 20)) == 2
    # Codes 0, 1, 2 at travel 0, 1/2, 1: the value 2 lies at a quarter, exactly between two codes.
    coded = scale("1", "16", Geometric(), Coded(2))
    assert coded.nearest_code(F(2)) == 0
    assert coded.nearest_code(F(2) + F(1, 10**40)) == 1
    assert coded.nearest_code(F(8)) == 2
    assert coded.nearest_code(F(8) - F(1, 10**40)) == 1


def test_off_is_never_the_nearest() -> None:
    level = Scale(SPELLINGS["dB"], F(-60), F(12), ThreePoint(F(0)), Stepped(F(1, 2)), off_at_stop=True)
    assert level.codes == 145
    assert level.nearest_code(F(-60)) == 1
    assert level.exact_code(F(-60)) is None
    assert level.exact_code(F("-59.5")) == 1
    assert level.code_at(F(0)) == 0


ends = st.fractions(min_value=F(1, 100), max_value=10_000, max_denominator=100)


@st.composite
def scales(draw: st.DrawFn) -> Scale:
    first, last = draw(ends), draw(ends)
    assume(first != last)
    law = draw(laws(first, last))
    grid = draw(st.one_of(st.builds(Coded, st.integers(2, 12)), st.integers(1, 400)))
    if isinstance(grid, int):
        grid = Stepped(abs(last - first) / grid)
    return Scale(MS, first, last, law, grid)


@settings(deadline=None)
@given(scales(), st.data())
def test_every_code_is_its_own_nearest(found: Scale, data: st.DataObject) -> None:
    code = data.draw(st.integers(0, found.codes - 1))
    assert found.nearest_code(found.value(code)) == code


@settings(deadline=None)
@given(scales(), st.data())
def test_never_turns_back(found: Scale, data: st.DataObject) -> None:
    travels = st.fractions(min_value=0, max_value=1, max_denominator=4096)
    one, other = sorted((data.draw(travels), data.draw(travels)))
    order = compare(found.at(other), found.at(one))
    assert order == (0 if one == other else (1 if found.last > found.first else -1))
    assert found.code_at(one) <= found.code_at(other)


@settings(deadline=None)
@given(scales(), st.fractions(min_value=0, max_value=1, max_denominator=1000))
def test_values_agree_with_another_road(found: Scale, travel: Fraction) -> None:
    """The formulas of the language page in double arithmetic."""
    wanted = in_doubles(found.law, float(found.first), float(found.last), float(travel))
    assert float(to_text(found.at(travel), 15)) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(scales(), st.fractions(min_value=0, max_value=1, max_denominator=1000))
def test_travels_are_undone_and_may_be_irrational(found: Scale, travel: Fraction) -> None:
    value = found.at(travel)
    assert compare(found.travel_of(value), travel) == 0
    assert found.code_at(found.travel_of(value)) == found.code_at(travel)
    assert found.nearest_code(value) == found.code_at(travel)


def test_ties_of_the_further_laws_go_to_the_even_code() -> None:
    # Codes 0, 1, 2 at travel 0, 1/2, 1: a quarter of the travel is exactly between two.
    s_curve = scale("0", "100", SCurve(F(1, 10)), Coded(2))
    points = scale("100", "0", Points(((F(0), F(100)), (F(1, 4), F(90)), (F(1), F(0)))), Coded(2))
    tiny = F(1, 10**40)
    for value, falls in ((F(10), False), (F(90), True)):
        found = points if falls else s_curve
        beyond = value - tiny if falls else value + tiny
        assert found.travel_of(value) == F(1, 4)
        assert found.nearest_code(value) == 0
        assert found.nearest_code(beyond) == 1
    steps = scale("0", "100", SCurve(F(1, 8)), Stepped(F(25)))
    # 2 x^2 is an eighth at a quarter; 12.5 lies between the steps 0 and 25, and so does 37.5.
    assert [steps.code_at(F(1, 4)), steps.nearest_code(F("37.5"))] == [0, 2]
    assert steps.code_at(F(1, 4) + tiny) == 1


# ---- a noon beside a taper

FALLING = Points(((F(0), F(100)), (F(1, 4), F(99)), (F(3, 4), F(9)), (F(1), F(0))))


@pytest.mark.parametrize(
    ("found", "lowest", "highest"),
    [
        (scale("0", "100", Straight(), Stepped(F(1))), "49.5", "50.5"),
        (scale("100", "0", Straight(), Stepped(F(1))), "49.5", "50.5"),
        (scale("0", "100", ThreePoint(F(10)), Stepped(F("0.5"))), "9.75", "10.25"),
        (scale("0", "100", SCurve(F(1, 10)), Stepped(F(2))), "49", "51"),
        (scale("110", "7040", Geometric(), Stepped(F(10))), "875", "885"),
        # Half a code of two bits is a quarter of the travel.
        (scale("0", "100", Straight(), Coded(2)), "25", "75"),
        (scale("16", "1", Geometric(), Coded(2)), "2", "8"),
        (scale("0", "100", SCurve(F(1, 10)), Coded(2)), "10", "90"),
        (scale("100", "0", FALLING, Coded(2)), "9", "99"),
    ],
)  # fmt: skip
def test_a_noon_beside_a_taper(found: Scale, lowest: str, highest: str) -> None:
    low, high, tiny = F(lowest), F(highest), F(1, 10**30)
    assert [noon_claim_holds(found, noon) for noon in (low, (low + high) / 2, high)] == [True] * 3
    assert not noon_claim_holds(found, low - tiny)
    assert not noon_claim_holds(found, high + tiny)
    assert noon_reach(found) == (low, high)


def test_a_noon_that_no_fraction_is() -> None:
    found = scale("100", "200", Geometric(), Stepped(F(1)))
    # 100 root 2 = 141.4213...
    assert noon_claim_holds(found, F("141.5")) and noon_claim_holds(found, F("140.9214"))
    assert not noon_claim_holds(found, F("140.9213")) and not noon_claim_holds(found, F("141.9214"))
