"""What holds of every table that is chosen, whatever the taper, the part and the conversion."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from paramc.layout.fitted import fitted_tables
from paramc.layout.knobs import codes_along, flat_readings
from paramc.model.engine import (
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
    VALUE,
    Call,
    Factors,
    Function,
    Name,
    Negated,
    Number,
    Reciprocal,
    Sum,
)
from paramc.model.items import Param, engine_legal, engine_rounded
from paramc.model.laws import Geometric, Law, Points, SCurve, Straight, ThreePoint
from paramc.model.panel import Knob
from paramc.model.scale import Coded, Scale, Stepped
from paramc.model.tunnels import first_outside
from paramc.numbers.units import SPELLINGS
from paramc.tables.blocks import Blocks
from paramc.tables.even_grid import EvenGrid
from paramc.tables.forms import values_of
from paramc.tables.free_knots import FreeKnots
from paramc.tables.segments import FreeSegments
from tests.unit.layout.products import form, knob, open_mode, product

few = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
shares = st.fractions(Fraction(1, 50), Fraction(49, 50), max_denominator=100)


@st.composite
def laws(draw: st.DrawFn, first: Fraction, last: Fraction) -> Law:
    """A law from one end to the other; Geometric only where there is a ratio."""
    way = last - first
    match draw(st.sampled_from(("straight", "geometric", "three", "s", "points"))):
        case "geometric" if first * last > 0:
            return Geometric()
        case "three":
            return ThreePoint(first + way * draw(shares))
        case "s":
            return SCurve(draw(st.fractions(Fraction(1, 50), Fraction(6, 25), max_denominator=100)))
        case "points":
            inner = sorted(draw(st.sets(shares, min_size=1, max_size=4)))
            at = sorted(draw(st.sets(shares, min_size=len(inner), max_size=len(inner))))
            ends = (Fraction(0), first), (Fraction(1), last)
            middle = ((x, first + way * y) for x, y in zip(at, inner, strict=True))
            return Points((ends[0], *middle, ends[1]))
        case _:
            return Straight()


@st.composite
def params(draw: st.DrawFn) -> Param:
    """An item on a grid of steps or coded, rising or falling, now and then flat about a noon on its grid."""
    steps = 2 * draw(st.integers(2, 400))
    low = draw(st.sampled_from((Fraction(-300), Fraction(0), Fraction(5))))
    first, last = (low, low + steps) if draw(st.booleans()) else (low + steps, low)
    grid = draw(st.sampled_from((Stepped(Fraction(1)), Coded(6), Coded(9))))
    scale = Scale(SPELLINGS["%"], first, last, draw(laws(first, last)), grid)
    flat = draw(st.sampled_from((Fraction(0), Fraction(3, 50), Fraction(3, 25))))
    return Param("it", "It", scale, 0, flat=flat)


@st.composite
def knobs(draw: st.DrawFn) -> Knob:
    law = draw(laws(Fraction(0), Fraction(1)))
    return knob("IT", draw(st.integers(5, 10)), law=law)


@few
@given(params(), knobs())
def test_a_knob_is_at_most_a_reading_off_and_exact_where_a_hand_feels_it(it: Param, of: Knob) -> None:
    _, [found] = fitted_tables(product((it,), (of,), (open_mode(("IT", "it")),)))
    codes, got = codes_along(it, of), values_of(found.table)
    for n, code in enumerate(got):
        assert code in codes[max(n - 1, 0) : n + 2]
    for n in {0, of.noon, of.top, *flat_readings(it, of)}:
        assert got[n] == codes[n]
    assert all(a <= b for a, b in pairwise(got))
    assert found.proof.worst == max(abs(a - b) for a, b in zip(got, codes, strict=True))


@dataclass(frozen=True)
class Kind:
    """A conversion with ends that it has answers for, in a unit, and formats that hold these."""

    unit: str
    ends: tuple[int, int]
    conversion: Conversion
    formats: tuple[str, ...]
    turns: bool = False


_V = Name(VALUE)


def _number(value: int) -> Number:
    return Number(Fraction(value))


KINDS = (
    Kind("%", (-300, 700), WhereOne(Fraction(1)), ("s32", "q15.17", "s16")),
    Kind("%", (0, 200), WhereOne(Fraction(220)), ("uq1.15", "q31", "uq1.7", "q7")),
    Kind("dB", (-60, 11), Gain(), ("uq2.14", "uq3.13", "uq2.30", "q4.12")),
    Kind("ms", (5, 1200), Samples(Fraction(32000)), ("u16", "s32", "uq16.16")),
    Kind("Hz", (20, 12000), Phase(Fraction(48000)), ("u16", "u32")),
    Kind("Hz", (20, 9000), Pole(Fraction(32000)), ("q15", "q31", "uq1.15")),
    Kind("cents", (-1200, 1200), Pitch(), ("uq2.14", "uq4.12", "uq3.29")),
    Kind("ms", (40, 9000), Decay(Fraction(32000)), ("uq1.15", "q31", "uq1.31")),
    # 50 sqrt(value); and 90 sin(value / 40) - value, which turns back.
    Kind("Q", (1, 900), ByExpression(Factors((_number(50), Call(Function.SQRT, (_V,))))), ("s16", "q15.17")),
    Kind(
        "Q", (1, 900),
        ByExpression(Sum((
            Factors((_number(90), Call(Function.SIN, (Factors((_V, Reciprocal(_number(40)))),)))),
            Negated(_V),
        ))),
        ("s16", "q15.17"), turns=True,
    ),
)  # fmt: skip


@st.composite
def engined(draw: st.DrawFn) -> tuple[Param, Kind]:
    """Every conversion of every taper, rising and falling, within any tolerance."""
    kind = draw(st.sampled_from(KINDS))
    least, greatest = kind.ends
    low = draw(st.integers(least, least + (greatest - least) // 3))
    high = low + draw(st.integers(1, min(500, greatest - low)))
    ends = Fraction(low), Fraction(high)
    first, last = ends if draw(st.booleans()) else ends[::-1]
    grid = draw(st.sampled_from((Stepped(Fraction(1)), Coded(5), Coded(8), Coded(10))))
    amount = draw(st.fractions(Fraction(1, 1000), Fraction(1, 20), max_denominator=1000))
    relative = draw(st.booleans()) and low > 0
    within = Tolerance(amount, True) if relative else Tolerance(amount * (greatest - least) / 10)
    tolerance = draw(st.sampled_from((within, within, None)))
    name = draw(st.sampled_from(kind.formats))
    engine = Engine(form(name), kind.conversion, tolerance, tolerance is not None)
    scale = Scale(SPELLINGS[kind.unit], first, last, draw(laws(first, last)), grid)
    item = Param("it", "It", scale, 0, engine=engine, prefers_speed=draw(st.booleans()))
    assume(first_outside(item, range(item.codes)) is None)
    return item, kind


@settings(few, max_examples=60)
@given(engined())
def test_an_engine_value_keeps_its_tolerance_and_goes_one_way(drawn: tuple[Param, Kind]) -> None:
    item, kind = drawn
    assert item.engine is not None
    [found], _ = fitted_tables(product((item,), (), (open_mode(),)))
    values, form_of_it = values_of(found.table), item.engine.format
    for code, value in enumerate(values):
        legal = engine_legal(item, code)
        least, greatest = max(legal.lowest, form_of_it.minimum), min(legal.highest, form_of_it.maximum)
        if least > greatest:
            assert code in found.proof.without and value == engine_rounded(item, code)
        else:
            assert code not in found.proof.without and least <= value <= greatest
    assert kind.turns or list(values) in (sorted(values), sorted(values, reverse=True))
    pieces = _pieces(found.table)
    assert pieces is None or pieces >= found.proof.pieces
    assert found.proof.worst <= 1 or found.proof.without


def _pieces(table: object) -> int | None:
    """The straight pieces that a table is made of, where heights are not rounded down further."""
    match table:
        case EvenGrid(datum=datum, knots=knots) | Blocks(datum=datum, knots=knots) if datum.shift >= 0:
            return len(knots) - 1
        case FreeSegments(datum=datum, starts=starts) if datum.shift >= 0:
            return len(starts)
        case FreeKnots(datum=datum, codes=codes) if datum.shift >= 0:
            return len(codes) - 1
        case _:
            return None
