"""Tapers: the laws of s and points, what is wrong with them, the flat, and what at CLOCK makes of it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import changed, followed_by
from paramc.check.tapers import MOST_POINTS
from paramc.model.items import Param
from paramc.model.laws import Points, SCurve
from paramc.text.diagnostic import Diagnostic
from tests.unit.check.told import checked, product_of, stops, told

F = Fraction
TILT = "range -100 % .. 100 %  step 2 %"
FALLS = "range 100 % .. -100 %  step 2 %"
CURVE = "7:00 -100 %  9:30 -36 %  12:00 0 %  2:30 36 %  5:00 100 %"


def param(lines: str) -> Param:
    made = product_of(followed_by(f'param rise "Rise" {{ {lines} }}')).items[-1]
    assert isinstance(made, Param)
    return made


def wrong(lines: str) -> list[Diagnostic]:
    found = checked(followed_by(f'param rise "Rise" {{ {lines} }}')).diagnostics
    assert all(one.subject == "rise" for one in found)
    return list(found)


def points(lines: str, written: str) -> list[Diagnostic]:
    return wrong(f"{lines}  taper points {{ {written} }}")


def place(found: Diagnostic) -> str:
    assert found.place is not None
    return found.place.text


# ---- points


def test_points_as_written() -> None:
    law = param(f"{TILT}  taper points {{ {CURVE} }}").scale.law
    assert law == Points(
        ((F(0), F(-100)), (F(1, 4), F(-36)), (F(1, 2), F(0)), (F(3, 4), F(36)), (F(1), F(100)))
    )


def test_points_convert_into_the_unit_of_the_range() -> None:
    written = "taper points { 7:00 1000 us  12:00 0.005 s  5:00 9 ms }"
    law = param(f"range 1 ms .. 9 ms  step 1 ms  {written}").scale.law
    assert law == Points(((F(0), F(1)), (F(1, 2), F(5)), (F(1), F(9))))


def test_points_are_on_a_scale_of_300_degrees_whatever_the_knob() -> None:
    text = changed("adc 10 bits", "adc 10 bits  turn 270 deg").replace(
        "step 1 %", "step 1 %  taper points { 7:00 0 %  12:00 30 %  5:00 100 % }  default 30 %"
    )
    assert told(text) == []


def test_falling_points() -> None:
    assert points(FALLS, "7:00 100 %  12:00 0 %  5:00 -100 %") == []
    [found] = points(FALLS, "7:00 100 %  9:30 -20 %  12:00 0 %  5:00 -100 %")
    assert (found.rule.name, place(found), found.try_) == ("points-one-way", "0 %", "12:00 -60 %")


@pytest.mark.parametrize(("written", "rule", "at", "try_"), [
    ("12:00 0 %", "points-ends", "points { 12:00 0 % }", "taper points { 7:00 -100 %  5:00 100 % }"),
    ("", "points-ends", "points {  }", "taper points { 7:00 -100 %  5:00 100 % }"),
    ("7:30 -100 %  12:00 0 %  5:00 100 %", "points-ends", "7:30", "7:00 -100 %"),
    ("7:00 -100 %  12:00 0 %  4:59 100 %", "points-ends", "4:59", "5:00 100 %"),
    ("7:00 -98 %  12:00 0 %  5:00 100 %", "points-ends", "-98 %", "7:00 -100 %"),
    ("7:00 -100 %  12:00 0 %  5:00 102 %", "points-ends", "102 %", "5:00 100 %"),
    ("7:00 -100 %  2:00 0 %  9:30 36 %  5:00 100 %", "points-order", "9:30", "Put 9:30 before 2:00."),
    ("7:00 -100 %  2:00 0 %  2:00 36 %  5:00 100 %", "points-order", "2:00", "Leave one of the two out."),
    ("7:00 -100 %  9:00 -100 %  5:00 100 %", "points-one-way", "-100 %", "9:00 0 %"),
    ("7:00 -100 %  9:00 10 %  12:00 0 %  5:00 100 %", "points-one-way", "0 %", "12:00 60 %"),
    # What lies beyond the end is wrong, and not the end behind it.
    ("7:00 -100 %  9:00 120 %  12:00 130 %  5:00 100 %", "points-one-way", "120 %", "9:00 0 %"),
    ("7:00 -100 %  9:00 100 %  5:00 100 %", "points-one-way", "100 %", "9:00 0 %"),
    ("7:00 -100 %  9:00 -200 %  5:00 100 %", "points-one-way", "-200 %", "9:00 0 %"),
    ("7:00 -100 %  12:00 0 ms  5:00 100 %", "wrong-unit", "0 ms", ""),
])  # fmt: skip
def test_points_that_are_no_taper(written: str, rule: str, at: str, try_: str) -> None:
    [found] = points(TILT, written)
    assert (found.rule.name, place(found), found.try_) == (rule, at, try_)


def test_both_ends_are_told() -> None:
    assert [one.try_ for one in points(TILT, "7:30 -100 %  4:30 100 %")] == ["7:00 -100 %", "5:00 100 %"]


def test_the_most_points() -> None:
    def many(count: int) -> str:
        minutes = range(420, 420 + count)
        inner = "  ".join(
            f"{minute // 60}:{minute % 60:02} {-99 + at} %" for at, minute in enumerate(minutes) if at
        )
        return f"7:00 -100 %  {inner}  5:00 100 %"

    assert points(f"{TILT}  default 0 %", many(MOST_POINTS - 1)) == []
    [found] = points(TILT, many(MOST_POINTS))
    assert found.rule.name == "out-of-bounds"
    assert f"{MOST_POINTS + 1} points, and {MOST_POINTS} are the most" in found.sentence


# ---- s


@pytest.mark.parametrize(("share", "try_"), [
    ("0 %", "taper s 1 %"), ("-5 %", "taper s 1 %"), ("25 %", "taper s 24 %"), ("80 %", "taper s 24 %"),
])  # fmt: skip
def test_the_share_of_an_s(share: str, try_: str) -> None:
    [found] = wrong(f"{TILT}  taper s {share}")
    assert (found.rule.name, found.try_) == ("s-share", try_)
    assert param(f"{TILT}  {try_}").scale.law == SCurve(F(try_.split()[2]) / 100)


# ---- noon beside them


@pytest.mark.parametrize(("taper", "noon", "right"), [
    ("s 10 %", "0 %", True), ("s 10 %", "1 %", True), ("s 10 %", "1.1 %", False),
    (f"points {{ {CURVE} }}", "-1 %", True), (f"points {{ {CURVE} }}", "-1.1 %", False),
])  # fmt: skip
@pytest.mark.parametrize("flat", ["", "flat for 12 % of travel"])
def test_noon_is_a_claim_before_the_flat(taper: str, noon: str, right: bool, flat: str) -> None:
    lines = f"{TILT}  taper {taper}  noon {noon}  default 4 %  {flat}"
    on_grid = noon == "0 %" or not flat
    if right and on_grid:
        assert wrong(lines) == []
    else:
        [found] = wrong(lines)
        assert (found.rule.name, found.try_) == ("noon-and-taper" if not right else "flat-noon", "noon 0 %")


# ---- the flat


@pytest.mark.parametrize(("share", "try_"), [
    ("0 %", "flat for 1 % of travel"), ("-6 %", "flat for 1 % of travel"),
    ("12.01 %", "flat for 12 % of travel"), ("100 %", "flat for 12 % of travel"),
])  # fmt: skip
def test_the_width_of_a_flat(share: str, try_: str) -> None:
    [found] = wrong(f"{TILT}  flat for {share} of travel")
    assert (found.rule.name, found.try_) == ("flat-width", try_)
    assert param(f"{TILT}  {try_}").flat == F(try_.split()[2]) / 100


@pytest.mark.parametrize("share", ["0.5 %", "6 %", "12 %"])
def test_a_flat_as_written(share: str) -> None:
    assert param(f"{TILT}  flat for {share} of travel").flat == F(share.split()[0]) / 100
    assert param(TILT).flat == 0


def test_noon_is_a_code_where_it_is_flat() -> None:
    [found] = wrong("range 0 ms .. 85 ms  step 1 ms  default 40 ms  flat for 5 % of travel")
    assert (found.rule.name, found.try_) == ("flat-noon", "noon 42 ms")
    assert "42.5 ms" in found.sentence
    # As the default it is told once, whatever else it is.
    [found] = wrong("range 0 ms .. 85 ms  step 1 ms  flat for 5 % of travel")
    assert found.rule.name == "value-off-grid"
    assert param("range 0 ms .. 85 ms  coded 6 bits  flat for 5 % of travel").default == 31


@pytest.mark.parametrize(("clock", "code"), [
    # Ten minutes are 1/60 of the way of 300 degrees; 6 % are flat from 11:42 to 12:18.
    ("11:42", 50), ("12:00", 50), ("12:18", 50), ("12:24", 51), ("7:00", 0), ("5:00", 100),
    # 0.25 / 0.94 of the way.
    ("9:30", 27), ("2:30", 73),
])  # fmt: skip
def test_a_clock_goes_through_the_flat(clock: str, code: int) -> None:
    assert param(f"{TILT}  default at {clock}  flat for 6 % of travel").default == code


def test_flat_belongs_to_params() -> None:
    for kind, lines in (
        ("selector", 'way a "A"  way b "B"  default a'), ("flag", "default on"),
        ("trim", "range -3 dB .. 3 dB  step 1 dB  nominal 0 dB  safe 0 dB"),
    ):  # fmt: skip
        text = followed_by(f'{kind} rise "Rise" {{ {lines}  flat for 5 % of travel }}')
        assert stops(text) == ["misplaced"]


@pytest.mark.parametrize(("kind", "lines"), [
    ("param", TILT), ("selector", 'way a "A"  way b "B"  default a'), ("flag", "default on"),
    ("trim", "range -3 dB .. 3 dB  step 1 dB  nominal 0 dB  safe 0 dB"),
])  # fmt: skip
def test_any_item_may_prefer_speed(kind: str, lines: str) -> None:
    for wish in ("", "prefer speed"):
        made = product_of(followed_by(f'{kind} rise "Rise" {{ {lines}  {wish} }}')).items[-1]
        assert made.prefers_speed == bool(wish)
