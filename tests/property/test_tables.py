"""What holds of every table that is chosen, whatever the taper, the part and the conversion."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from paramc.layout.fitted import fitted_tables
from paramc.layout.knobs import codes_along, flat_readings
from paramc.model.engine import Engine, Gain, Tolerance, WhereOne
from paramc.model.items import Param, engine_legal, engine_rounded
from paramc.model.laws import Geometric, Law, Points, SCurve, Straight, ThreePoint
from paramc.model.panel import Knob
from paramc.model.scale import Coded, Scale, Stepped
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


@few
@given(params(), st.sampled_from(("s32", "q15.17", "s16")), st.fractions(Fraction(1, 4), 8), st.booleans())
def test_an_engine_value_keeps_its_tolerance(it: Param, name: str, within: Fraction, speed: bool) -> None:
    engine = Engine(form(name), WhereOne(Fraction(1)), Tolerance(within), True)
    item = Param("it", "It", it.scale, 0, engine=engine, prefers_speed=speed)
    [found], _ = fitted_tables(product((item,), (), (open_mode(),)))
    for code, value in enumerate(values_of(found.table)):
        legal = engine_legal(item, code)
        assert legal.lowest <= value <= legal.highest or (
            code in found.proof.without and value == engine_rounded(item, code)
        )
    assert _pieces(found.table) is None or _pieces(found.table) >= found.proof.pieces  # type: ignore[operator]
    assert (found.proof.worst <= 1) or found.proof.without


@few
@given(st.integers(1, 40), st.integers(1, 30), st.booleans())
def test_so_does_a_gain(steps: int, tenths: int, falls: bool) -> None:
    ends = (Fraction(-steps), Fraction(12)) if falls else (Fraction(12), Fraction(-steps))
    scale = Scale(SPELLINGS["dB"], *ends, Straight(), Stepped(Fraction(1, 2)))
    engine = Engine(form("uq3.13"), Gain(), Tolerance(Fraction(tenths, 100)))
    item = Param("it", "It", scale, 0, engine=engine)
    good = [engine_legal(item, code) for code in range(item.codes)]
    assume(all(legal.lowest <= legal.highest for legal in good))
    [found], _ = fitted_tables(product((item,), (), (open_mode(),)))
    for legal, value in zip(good, values_of(found.table), strict=True):
        assert legal.lowest <= value <= legal.highest
    assert found.proof.worst <= 1 and not found.proof.without


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
