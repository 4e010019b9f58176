"""An old code as a new one: the value that it meant, and the nearest to it."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.model.carry import Carried, Fit, carried
from paramc.model.items import Flag, Param, Selector, Trim, Way
from paramc.model.scale import Coded, Geometric, Scale, Stepped, Straight, ThreePoint
from paramc.numbers.units import SPELLINGS


def stepped(first: str, last: str, step: str, unit: str = "ms", off: bool = False) -> Param:
    scale = Scale(SPELLINGS[unit], Fraction(first), Fraction(last), Straight(), Stepped(Fraction(step)), off)
    return Param("it", "It", scale, 1)


def coded(first: int, last: int, noon: int | None, bits: int) -> Param:
    law = Geometric() if noon is None else ThreePoint(Fraction(noon))
    return Param("it", "It", Scale(SPELLINGS["Hz"], Fraction(first), Fraction(last), law, Coded(bits)), 1)


def fit(was: Param | Selector, item: Param | Selector, code: int) -> tuple[int, str]:
    found = carried(was, item, code)
    assert found is not None
    return found.code, found.fit.value


@pytest.mark.parametrize(("was", "item", "code", "wanted"), [
    # A wider range, a finer step, another unit, the other way round: the value stays.
    (stepped("20", "800", "1"), stepped("20", "1200", "1"), 330, (330, "same")),
    (stepped("0", "100", "2"), stepped("0", "100", "1"), 21, (42, "same")),
    (stepped("0", "2000", "10"), stepped("0", "2", "0.01", "s"), 35, (35, "same")),
    (stepped("-6", "-42", "0.5", "dBu"), stepped("-42", "-6", "0.5", "dBu"), 0, (72, "same")),
    # Half way between two codes the even one.
    (stepped("0", "10", "0.5"), stepped("0", "10", "1"), 9, (4, "nearest")),
    (stepped("0", "10", "0.5"), stepped("0", "10", "1"), 11, (6, "nearest")),
    (stepped("0", "9", "1"), stepped("0", "9", "3"), 4, (1, "nearest")),
    # Beyond an end that end is nearest, and the value is lost.
    (stepped("20", "1200", "1"), stepped("20", "800", "1"), 1180, (780, "lost")),
    (stepped("0", "10", "1"), stepped("2", "10", "1"), 1, (0, "lost")),
    (stepped("10", "0", "1"), stepped("8", "0", "1"), 0, (0, "lost")),
    # Off is no value.
    (stepped("-60", "0", "1", "dB", True), stepped("-60", "6", "1", "dB", True), 0, (0, "same")),
    (stepped("-60", "0", "1", "dB", True), stepped("-60", "6", "1", "dB"), 0, (0, "lost")),
    (stepped("-60", "0", "1", "dB"), stepped("-60", "6", "1", "dB", True), 0, (1, "lost")),
    (stepped("-60", "0", "1", "dB"), stepped("-50", "0", "1", "dB", True), 3, (1, "lost")),
    (stepped("-60", "0", "1", "dB", True), stepped("-60", "0", "2", "dB", True), 1, (1, "nearest")),
])  # fmt: skip
def test_values(was: Param, item: Param, code: int, wanted: tuple[int, str]) -> None:
    assert fit(was, item, code) == wanted


def test_a_coded_value_is_nearest_in_travel() -> None:
    fine, coarse = coded(100, 10_000, None, 8), coded(100, 10_000, None, 4)
    assert fit(fine, coarse, 127) == (7, "same")  # noon has a code on every coded grid
    assert fit(fine, coarse, 128)[1] == "nearest"
    assert fit(fine, fine, 77) == (77, "same")


@settings(deadline=None, max_examples=150)
@given(st.integers(2, 6), st.integers(2, 7), st.integers(0, 126), st.integers(150, 9000))
def test_a_coded_grid_by_a_second_road(bits: int, other: int, code: int, noon: int) -> None:
    """In doubles: the travel of the value on the new taper, and the code nearest to that."""
    was, item = coded(100, 10_000, None, bits), coded(100, 10_000, noon, other)
    code %= was.codes
    found = carried(was, item, code)
    assert found is not None
    value = 100 * 100 ** (code / (was.codes - 1))
    r = (10_000 - noon) / (noon - 100)
    share = (value - 100) / 9900
    travel = share if abs(r - 1) < 1e-9 else math.log(1 + share * (r * r - 1)) / (2 * math.log(r))
    place = travel * (item.codes - 1)
    if abs(place % 1 - 0.5) > 1e-6:  # what doubles cannot settle is not asked of them
        assert found.code == round(place)
    assert found.fit is not Fit.LOST


@settings(max_examples=200)
@given(
    st.integers(-40, 40), st.integers(1, 60), st.fractions("1/8", 4),
    st.integers(-40, 40), st.integers(1, 60),
    st.fractions("1/8", 4), st.data(),
)  # fmt: skip
def test_a_stepped_grid_by_counting_out(
    first: int, codes: int, step: Fraction, other: int, others: int, width: Fraction, data: st.DataObject
) -> None:
    was = stepped(str(first), str(first + codes * step), str(step))
    item = stepped(str(other), str(other + others * width), str(width))
    code = data.draw(st.integers(0, codes))
    found = carried(was, item, code)
    value = first + code * step
    away = [abs(other + one * width - value) for one in range(others + 1)]
    nearest = [one for one, far in enumerate(away) if far == min(away)]
    assert found is not None
    assert found.code in nearest and (len(nearest) == 1 or found.code % 2 == 0)
    inside = other <= value <= other + others * width
    assert found.fit is (Fit.LOST if not inside else Fit.SAME if min(away) == 0 else Fit.NEAREST)


# ---- ways and flags


def ways(
    *names: str, was: dict[str, tuple[str, ...]] | None = None, places: tuple[int, ...] = ()
) -> Selector:
    made = tuple(Way(name, name, None, (was or {}).get(name, ())) for name in names)
    return Selector("it", "It", made, places[-1] if places else 0, places=places)


def test_a_way_is_known_by_its_name() -> None:
    old = ways("a", "b", "c")
    assert fit(old, ways("c", "a", "b", places=(0, 1, 2)), 2) == (0, "same")
    assert fit(old, ways("a", "c", was={"a": ("b",)}, places=(0, 2)), 1) == (0, "nearest")
    assert fit(old, ways("a", "new", "c", was={"new": ("b",)}), 1) == (1, "same")
    assert fit(old, ways("a", "d", places=(0, 3)), 1) == (3, "lost")


def test_a_way_on_the_way_back() -> None:
    new = ways("a", "new", "d", was={"new": ("b", "c")}, places=(0, 1, 3))
    old = ways("a", "b", "c")
    assert fit(new, old, 1) == (1, "same")
    assert fit(new, old, 3) == (0, "lost")
    assert fit(ways("a", "c", was={"c": ("b",)}, places=(0, 2)), old, 2) == (2, "same")


def test_flags_and_what_is_not_alike() -> None:
    flag = Flag("it", "It", 1)
    assert carried(flag, flag, 0) == Carried(0, Fit.SAME)
    scale = stepped("0", "9", "1").scale
    trim = Trim("it", "It", scale, 3)
    assert carried(trim, trim, 7) == Carried(7, Fit.SAME)
    assert carried(flag, ways("a", "b"), 0) is None
    assert carried(stepped("0", "9", "1"), trim, 0) is None
    assert carried(stepped("0", "9", "1"), stepped("0", "9", "1", "dB"), 0) is None
