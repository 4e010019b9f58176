"""Whole tables at once: the same answers as code by code, for any item; and the first code without one."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.model.answers import NoAnswer
from paramc.model.engine import (
    AsStored,
    ByExpression,
    Conversion,
    Decay,
    Engine,
    Gain,
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
from paramc.model.items import Flag, Item, Param, Selector, Trim, Way, engine_legal, engine_rounded
from paramc.model.scale import Coded, Geometric, Law, Scale, SCurve, Stepped, Straight, ThreePoint
from paramc.model.tunnels import EngineTunnel, engine_tunnel, first_without_answer
from paramc.numbers.formats import parse
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import SPELLINGS
from tests.unit.model.laws import laws

F = Fraction
VALUE = Name("value")


def engine(text: str, conversion: Conversion, within: str | None = None, relative: bool = False) -> Engine:
    form = parse(text)
    assert form is not None
    return Engine(form, conversion, None if within is None else Tolerance(F(within), relative))


def param(ends: str, law: Law, grid: Stepped | Coded, of: Engine, off: bool = False) -> Param:
    first, last, unit = ends.split()
    return Param("it", "It", Scale(SPELLINGS[unit], F(first), F(last), law, grid, off), 0, engine=of)


def slowly(item: Item) -> EngineTunnel:
    legal = [engine_legal(item, code) for code in range(item.codes)]
    rounded = tuple(engine_rounded(item, code) for code in range(item.codes))
    return EngineTunnel(tuple(one.lowest for one in legal), tuple(one.highest for one in legal), rounded)


def number(text: str) -> Number:
    return Number(F(text))


LINEAR, ONES = Straight(), Stepped(F(1))
WAYS = tuple(Way(f"w{n}", "W", Quantity(F(1, n), SPELLINGS["x"])) for n in (1, 2, 3, 7))
ROOT = Factors((number("100"), Call(Function.SQRT, (VALUE,))))
TWICE = Sum((Factors((VALUE, number("2"))), number("1")))
TURNS = Factors((number("50"), Call(Function.SIN, (Factors((VALUE, number("0.4"))),))))

ITEMS: dict[str, Item] = {
    "phase": param("80 12000 Hz", ThreePoint(F(1100)), Coded(9),
                   engine("u16", Phase(F(48000)), "1/200", True)),
    "samples": param("20 120 ms", ThreePoint(F(35)), Stepped(F(1)), engine("u16", Samples(F(32000)), "1")),
    "falling samples": param("120 20 ms", LINEAR, Stepped(F(1, 2)), engine("u16", Samples(F(32000)), "1/3")),
    "ties": param("0 40 %", LINEAR, ONES, engine("u8", WhereOne(F(2)), "1")),
    "negative one": param("-7 40 %", LINEAR, ONES, engine("s16", WhereOne(F(-3)), "2")),
    "relative steps": param("20 90 ms", LINEAR, ONES, engine("u16", WhereOne(F(1)), "1/10", True)),
    "negative relative": param("-90 -20 dB", LINEAR, ONES, engine("s16", WhereOne(F(1)), "1/10", True)),
    "exact steps": param("0 40 %", LINEAR, ONES, engine("u8", WhereOne(F(2)))),
    "off": param("-60 12 dB", LINEAR, ONES, engine("uq2.14", Gain(), "1/10"), True),
    "off in steps": param("-60 12 dB", LINEAR, ONES, engine("s16", WhereOne(F(1, 3)), "1/10"), True),
    "pole": param("80 12000 Hz", Geometric(), Coded(8), engine("uq0.16", Pole(F(48000)), "1/100", True)),
    "pitch": param("-1200 1200 cents", LINEAR, Stepped(F(10)), engine("uq2.14", Pitch(), "2")),
    "decay": param("0 5 s", SCurve(F(1, 10)), Coded(8), engine("uq0.16", Decay(F(100)), "1/100"), True),
    "root": param("0 100 %", LINEAR, Coded(8), engine("u16", ByExpression(ROOT), "1/10")),
    "rational": param("-20 100 ms", LINEAR, ONES, engine("s16", ByExpression(TWICE), "1")),
    "turns": param("-20 20 ms", LINEAR, Stepped(F(1, 4)), engine("s8", ByExpression(TURNS), "1")),
    "as stored": param("0 40 %", LINEAR, ONES, engine("u8", AsStored())),
    "flag": Flag("it", "It", 0, engine=engine("s16", ByExpression(TWICE), "1/2")),
    "trim": Trim("it", "It", Scale(SPELLINGS["dB"], F(-3), F(3), LINEAR, Stepped(F(1, 20))), 60,
                 engine=engine("uq2.14", Gain(), "1/50")),
    "selector": Selector("it", "It", WAYS, 0, engine=engine("uq2.14", WhereOne(F(1)), "1/1000")),
}  # fmt: skip


@pytest.mark.parametrize("name", ITEMS)
def test_the_same_answers_as_code_by_code(name: str) -> None:
    item = ITEMS[name]
    found = engine_tunnel(item)
    assert found == slowly(item)
    assert first_without_answer(item) is None
    assert len(found.rounded) == item.codes


CONVERSIONS: list[tuple[str, Conversion]] = [
    ("ms", Samples(F(44100))), ("Hz", Phase(F(96000))), ("dB", Gain()), ("Hz", Pole(F(44100))),
    ("semitones", Pitch()), ("ms", Decay(F(1000))), ("%", WhereOne(F(7, 3))), ("%", ByExpression(ROOT)),
    ("ms", ByExpression(TURNS)), ("ms", ByExpression(TWICE)),
]  # fmt: skip


@st.composite
def items(draw: st.DrawFn) -> Param:
    unit, conversion = draw(st.sampled_from(CONVERSIONS))
    ends = st.fractions(1, 60, max_denominator=8)
    first, last = draw(st.tuples(ends, ends).filter(lambda both: both[0] != both[1]))
    law = draw(laws(first, last))
    steps = st.integers(1, 30).map(lambda n: Stepped(abs(last - first) / n))
    grid = draw(st.one_of(st.integers(2, 5).map(Coded), steps))
    tolerance = draw(
        st.one_of(
            st.none(),
            st.fractions(F(1, 1000), 3, max_denominator=1000).map(Tolerance),
            st.fractions(F(1, 1000), F(1, 3), max_denominator=1000).map(lambda share: Tolerance(share, True)),
        )
    )
    form = parse(draw(st.sampled_from(["u16", "s32", "uq4.12", "q15"])))
    assert form is not None
    scale = Scale(SPELLINGS[unit], first, last, law, grid, draw(st.booleans()))
    return Param("it", "It", scale, 1, engine=Engine(form, conversion, tolerance))


@settings(deadline=None, max_examples=60)
@given(items())
def test_any_item_gives_the_same_answers(item: Param) -> None:
    assert engine_tunnel(item) == slowly(item)


BY_VALUE: Expression = Reciprocal(VALUE)


@pytest.mark.parametrize(
    ("expression", "code", "why"),
    [
        (BY_VALUE, 4, "divides by zero"),
        (Call(Function.LN, (Negated(VALUE),)), 4, "logarithm"),
        (Call(Function.SQRT, (Sum((number("2"), Negated(VALUE))),)), 7, "square root"),
        (Power(Sum((VALUE, number("3"))), number("0.5")), 0, "not whole"),
        (Power(number("10"), Power(number("10"), Factors((VALUE, number("3"))))), 6, "too large"),
    ],
)
def test_the_first_code_without_an_answer(expression: Expression, code: int, why: str) -> None:
    item = param("-4 4 ms", LINEAR, ONES, engine("s16", ByExpression(expression), "1/2"))
    found = first_without_answer(item)
    assert found is not None
    assert found[0] == code
    assert why in found[1].sentence
    with pytest.raises(NoAnswer, match=why):
        engine_tunnel(item)


def test_what_is_nested_too_deep_has_no_answer_at_all() -> None:
    deep: Expression = VALUE
    for _ in range(60):
        deep = Call(Function.SIN, (deep,))
    item = param("1 4 ms", LINEAR, ONES, engine("s16", ByExpression(deep)))
    found = first_without_answer(item)
    assert found is not None
    assert found[0] == 0
    with pytest.raises(NoAnswer, match="nested"):
        engine_tunnel(item)
