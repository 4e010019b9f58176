"""Engine values: conversions against published figures, rounding, and what a tolerance allows."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.model.engine import AsStored, Conversion, Engine, Gain, Legal, Phase, Samples, Tolerance, WhereOne
from paramc.model.items import Flag, Param, Selector, Way, engine_legal, engine_rounded
from paramc.model.scale import Scale, Stepped, Straight, ThreePoint
from paramc.numbers.formats import Format, parse
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import SPELLINGS

F = Fraction


def form(text: str) -> Format:
    found = parse(text)
    assert found is not None
    return found


def rounded(text: str, conversion: Conversion, value: str, unit: str) -> int:
    return Engine(form(text), conversion).rounded(F(value), SPELLINGS[unit])


# Encodings, round to nearest: 0.7 and 0.1 and -1 (arithmetic; the Q formats as ARM counts them).
@pytest.mark.parametrize(
    ("text", "value", "wanted"),
    [
        ("q15", "70", 22938),
        ("uq0.16", "70", 45875),
        ("q15", "10", 3277),
        ("uq0.16", "10", 6554),
        ("q7", "-100", -128),
        ("uq1.15", "100", 32768),
        ("u8", "250", 2),  # 2.5: a tie goes to the even integer
        ("u8", "350", 4),
        ("s8", "-250", -2),
    ],
)
def test_where_one(text: str, value: str, wanted: int) -> None:
    assert rounded(text, WhereOne(F(100)), value, "%") == wanted


# 20 log10: 6 dB is a ratio of 1.995262315, -60 dB 0.001 (definition of the decibel).
@pytest.mark.parametrize(
    ("value", "wanted"),
    [("0", 16384), ("6", round(1.995262315 * 16384)), ("-60", 16), ("-20", 1638), ("12", 65226)],
)
def test_gain(value: str, wanted: int) -> None:
    assert rounded("uq2.14", Gain(), value, "dB") == wanted


def test_samples_and_phase() -> None:
    assert rounded("u16", Samples(F(32_000)), "350", "ms") == 11_200
    assert rounded("u16", Samples(F(44_100)), "1", "s") == 44_100
    assert rounded("u32", Phase(F(48_000)), "440", "Hz") == round(F(2**32 * 440, 48_000))
    assert rounded("u16", Phase(F(32_000)), "1", "kHz") == 2048


def param(text: str, conversion: Conversion, tolerance: Tolerance | None, unit: str = "%") -> Param:
    scale = Scale(SPELLINGS[unit], F(0), F(110), ThreePoint(F(45)), Stepped(F(1, 2)))
    return Param("repeats", "Repeats", scale, 90, engine=Engine(form(text), conversion, tolerance))


def test_tolerance_is_counted_in_the_items_own_value() -> None:
    """0.1 % of 200 % in q15 is 16.384 steps either way."""
    item = param("q15", WhereOne(F(200)), Tolerance(F(1, 10)))
    code = 90  # 45 %: 7372.8
    assert engine_rounded(item, code) == 7373
    assert engine_legal(item, code) == Legal(7357, 7389)
    # At the ends the tolerance stops at the range.
    assert engine_legal(item, 0) == Legal(0, 16)
    assert engine_legal(item, 220) == Legal(18007, 18022)


def test_without_a_tolerance_one_integer_is_good() -> None:
    item = param("q15", WhereOne(F(200)), None)
    assert engine_legal(item, 91) == Legal(engine_rounded(item, 91), engine_rounded(item, 91))


def test_a_tolerance_may_allow_nothing() -> None:
    item = param("u8", WhereOne(F(100)), Tolerance(F(1, 10)))
    assert engine_legal(item, 91).none
    assert engine_legal(item, 91).nearest_to(5) == 5
    assert not engine_legal(item, 200).none


def test_a_relative_tolerance() -> None:
    scale = Scale(SPELLINGS["Hz"], F(100), F(1000), Straight(), Stepped(F(100)))
    engine = Engine(form("u16"), WhereOne(F(1)), Tolerance(F(1, 100), relative=True))
    item = Param("cut", "Cut", scale, 0, engine=engine)
    assert engine_legal(item, 4) == Legal(495, 505)
    assert engine_legal(item, 9) == Legal(990, 1000)


def test_off_is_zero_and_stored_codes_are_themselves() -> None:
    scale = Scale(SPELLINGS["dB"], F(-60), F(12), Straight(), Stepped(F(1)), off_at_stop=True)
    level = Param("level", "Level", scale, 60, engine=Engine(form("uq2.14"), Gain()))
    assert engine_rounded(level, 0) == 0
    assert engine_rounded(level, 60) == 16384
    flag = Flag("trails", "Trails", 1, engine=Engine(form("u8"), AsStored()))
    assert [engine_rounded(flag, code) for code in (0, 1)] == [0, 1]


def test_selectors_convert_their_numbers() -> None:
    ways = tuple(
        Way(name, name, Quantity(number, SPELLINGS["x"]))
        for name, number in (("half", F(2)), ("triplet", F(1, 3)))
    )
    engine = Engine(form("uq2.14"), WhereOne(F(1)))
    found = Selector("beat", "Beat", ways, 0, engine=engine)
    assert [engine_rounded(found, code) for code in (0, 1)] == [32768, 5461]
