"""Engine values: conversions against published figures, rounding, and what a tolerance allows."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from paramc.model.answers import NoAnswer
from paramc.model.engine import (
    AsStored,
    ByExpression,
    Conversion,
    Decay,
    Engine,
    Gain,
    Legal,
    Phase,
    Pitch,
    Pole,
    Samples,
    Tolerance,
    WhereOne,
)
from paramc.model.expression import (
    Call,
    Expression,
    Factors,
    Function,
    Name,
    Negated,
    Number,
    Power,
    Reciprocal,
    Sum,
)
from paramc.model.items import Flag, Param, Selector, Trim, Way, engine_exact, engine_legal, engine_rounded
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


# ---- conversions that bend


def test_pole_pitch_and_decay() -> None:
    """The definitions in double arithmetic; published tables stand in tests/published."""
    for hertz in (10, 440, 12_000):
        wanted = (1 - math.exp(-2 * math.pi * hertz / 48_000)) * 2**32
        found = Engine(form("uq0.32"), Pole(F(48_000))).rounded(F(hertz, 1000), SPELLINGS["kHz"])
        assert abs(found - wanted) < 0.51
    for unit, number in (("cents", 700), ("semitones", 7), ("octaves", F(7, 12))):
        assert rounded("uq2.14", Pitch(), str(number), unit) == round(2 ** (7 / 12) * 16384)
    assert rounded("uq2.14", Pitch(), "-1200", "cents") == 8192
    for unit, number in (("ms", "1500"), ("s", "1.5")):
        assert rounded("uq0.16", Decay(F(1000)), number, unit) == round(10 ** (-3 / 1500) * 65536)


def test_bending_conversions_are_exact_where_that_can_be_proved() -> None:
    cents, seconds = SPELLINGS["cents"], SPELLINGS["s"]
    assert Engine(form("uq8.8"), Pitch()).exact(F(2400), cents) == 1024
    assert Engine(form("uq8.8"), Pitch()).exact(F(-1), SPELLINGS["octaves"]) == 128
    assert Engine(form("q15"), Decay(F(1))).exact(F(3), seconds) == F(32768, 10)
    assert Engine(form("q15"), Pole(F(48_000))).exact(F(0), SPELLINGS["Hz"]) == 0


def test_nothing_decays_in_no_time() -> None:
    with pytest.raises(NoAnswer, match="no time"):
        Engine(form("q15"), Decay(F(48_000))).exact(F(0), SPELLINGS["s"])


# ---- expressions

VALUE = Name("value")


def number(text: str) -> Number:
    return Number(F(text))


PARABOLA = Power(Sum((VALUE, Negated(number("5")))), number("2"))
BY_VALUE = Reciprocal(VALUE)


def by(
    expression: Expression, first: str, last: str, step: str, within: str | None, text: str = "s16"
) -> Param:
    scale = Scale(SPELLINGS["ms"], F(first), F(last), Straight(), Stepped(F(step)))
    tolerance = None if within is None else Tolerance(F(within))
    return Param("it", "It", scale, 0, engine=Engine(form(text), ByExpression(expression), tolerance))


def test_value_is_in_the_unit_of_the_range() -> None:
    item = by(Factors((VALUE, number("3"))), "1", "9", "1", None)
    assert [engine_rounded(item, code) for code in range(9)] == [3 * n for n in range(1, 10)]
    fraction = by(Sum((VALUE, number("0.25"))), "1", "9", "1", None, "uq8.8")
    assert engine_rounded(fraction, 0) == 320


def test_the_tolerance_of_an_expression_that_turns() -> None:
    """(value - 5)^2 within 1: at 5 the conversions are 1, 0, 1; at 6 they are 0, 1, 4; at 4.5 they are
    2.25, 0.25, 0.25, and the least lies in none of the sides alone where the value is at the turn."""
    item = by(PARABOLA, "0", "10", "0.5", "1")
    assert engine_legal(item, 10) == Legal(0, 1)
    assert engine_legal(item, 12) == Legal(0, 4)
    assert engine_legal(item, 9) == Legal(1, 2)
    # Brought into the range: 0 and 0.5 .. 1.
    assert engine_legal(item, 0) == Legal(16, 25)
    assert engine_legal(item, 1) == Legal(13, 25)
    assert engine_legal(item, 20) == Legal(16, 25)


def test_sides_without_an_answer_do_no_harm() -> None:
    """60 / (value - 2) at 1.5, where the side above, 2, has no answer; and roots of what is below zero."""
    pole = Factors((number("60"), Reciprocal(Sum((VALUE, Negated(number("2")))))))
    item = by(pole, "0", "3", "1.5", "0.5")
    assert [engine_rounded(item, code) for code in (0, 1)] == [-30, -120]
    assert engine_legal(item, 1) == Legal(-120, -60)
    root = Call(Function.SQRT, (Sum((VALUE, Negated(number("1")))),))
    selector = Selector(
        "beat", "Beat", tuple(Way(str(n), str(n), Quantity(F(n), SPELLINGS[""])) for n in (1, 2, 10)), 0,
        engine=Engine(form("u8"), ByExpression(root), Tolerance(F(8))),
    )  # fmt: skip
    assert [engine_legal(selector, code) for code in range(3)] == [Legal(0, 2), Legal(1, 3), Legal(1, 4)]


def test_a_code_without_an_answer() -> None:
    item = by(BY_VALUE, "-2", "2", "1", None)
    assert engine_exact(item, 1) == -1
    for of in (engine_exact, engine_rounded, engine_legal):
        with pytest.raises(NoAnswer, match="divides by zero"):
            of(item, 2)


def test_flags_ways_and_trims_have_values_too() -> None:
    expression = Sum((Factors((VALUE, number("100"))), number("7")))
    flag = Flag("trails", "Trails", 1, engine=Engine(form("u8"), ByExpression(expression)))
    assert [engine_rounded(flag, code) for code in (0, 1)] == [7, 107]
    ways = tuple(Way(name, name, Quantity(F(n, 4), SPELLINGS["x"])) for name, n in (("a", 4), ("b", 3)))
    selector = Selector("beat", "Beat", ways, 0, engine=Engine(form("u8"), ByExpression(expression)))
    assert [engine_rounded(selector, code) for code in (0, 1)] == [107, 82]
    scale = Scale(SPELLINGS["dB"], F(-3), F(3), Straight(), Stepped(F(1, 2)))
    trim = Trim("gain", "Gain", scale, 6, engine=Engine(form("s16"), ByExpression(expression)))
    assert engine_rounded(trim, 0) == -293


def test_off_is_zero_in_any_conversion() -> None:
    for conversion in (Gain(), ByExpression(Sum((VALUE, number("7"))))):
        scale = Scale(SPELLINGS["dB"], F(-60), F(0), Straight(), Stepped(F(1)), off_at_stop=True)
        level = Param("level", "Level", scale, 60, engine=Engine(form("q8.8"), conversion, Tolerance(F(1))))
        assert engine_legal(level, 0) == Legal(0, 0)
        assert engine_exact(level, 60) == (256 if isinstance(conversion, Gain) else 7 * 256)
