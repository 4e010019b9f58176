"""From a knob's scaled reading to a code: against the model's own definition, reading by reading."""

from __future__ import annotations

import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.layout.fitted import fitted_tables
from paramc.layout.knobs import codes_along
from paramc.layout.layout import KnobTable
from paramc.layout.plan import plan
from paramc.model.engine import Engine, Gain, Tolerance
from paramc.model.items import Flag, Param
from paramc.model.modes import Mode
from paramc.model.scale import Coded, Geometric, Grid, Law, Scale, Stepped, Straight, ThreePoint
from paramc.numbers.units import SPELLINGS
from paramc.tables.forms import value_at
from paramc.tables.table import FullTable
from tests.unit.layout.products import form, knob, open_mode, param, product, selector, stepped, teasel_pinch

MS, HZ, DB, PERCENT = (SPELLINGS[symbol] for symbol in ("ms", "Hz", "dB", "%"))


def scale(unit: str, first: str, last: str, law: Law, grid: Grid, off: bool = False) -> Scale:
    return Scale(SPELLINGS[unit], Fraction(first), Fraction(last), law, grid, off)


SCALES = {
    "delay time": scale("ms", "20", "1200", ThreePoint(Fraction(350)), Stepped(Fraction(1))),
    "falling geometric": scale("Hz", "12000", "80", Geometric(), Stepped(Fraction(10))),
    "falling threshold": scale("dBu", "-6", "-42", Straight(), Stepped(Fraction(1, 2))),
    "negative ends": scale("dB", "-60", "-3", Geometric(), Stepped(Fraction(1))),
    "attack": scale("ms", "0.5", "80", ThreePoint(Fraction(8)), Stepped(Fraction(1, 10))),
    "off at stop": scale("dB", "-60", "12", ThreePoint(Fraction(0)), Stepped(Fraction(1, 2)), True),
    "noon in the middle": scale("%", "0", "100", ThreePoint(Fraction(50)), Stepped(Fraction(1))),
    "coded": scale("Hz", "80", "12000", ThreePoint(Fraction(1100)), Coded(7)),
    "coded wider than the knob": scale("%", "0", "110", Straight(), Coded(12)),
    "two codes": scale("%", "0", "100", ThreePoint(Fraction(3)), Stepped(Fraction(100))),
}


@pytest.mark.parametrize("name", SCALES)
@pytest.mark.parametrize("bits", [5, 10])
def test_each_reading_gives_the_code_nearest_to_its_travel(name: str, bits: int) -> None:
    of = SCALES[name]
    codes = codes_along(Param("it", "It", of, of.codes - 1), knob("IT", bits))
    top = (1 << bits) - 1
    assert list(codes) == [of.code_at(Fraction(n, top)) for n in range(top + 1)]


def test_speed_is_for_engine_values_and_not_for_the_codes_of_a_knob() -> None:
    level = scale("dB", "-20", "0", Straight(), Stepped(Fraction(1, 10)))
    gain = Engine(form("uq1.15"), Gain(), Tolerance(Fraction(1, 50)))
    slow, fast = (
        fitted_tables(product(
            (Param("it", "It", level, 0, engine=gain, prefers_speed=speed),), (knob("IT", 10),),
            (open_mode(("IT", "it")),),
        ))
        for speed in (False, True)
    )  # fmt: skip
    assert isinstance(fast[0][0].table, FullTable) and not isinstance(slow[0][0].table, FullTable)
    assert fast[1] == slow[1]


@pytest.mark.parametrize("name", SCALES)
def test_ends_and_noon_are_exact_and_nothing_turns_back(name: str) -> None:
    of, it = SCALES[name], knob("IT", 10)
    codes = codes_along(Param("it", "It", of, of.codes - 1), it)
    assert (codes[0], codes[-1]) == (0, of.codes - 1)
    assert codes[it.noon] == of.code_at(Fraction(it.noon, it.top))
    assert list(codes) == sorted(codes)


def test_noon_gives_the_code_of_noon_where_a_reading_reaches_it() -> None:
    of = SCALES["delay time"]
    codes = codes_along(Param("time", "Time", of, 330), knob("TIME", 12))
    assert of.value(codes[2048]) == 350


@settings(max_examples=40, deadline=None)
@given(
    st.fractions(Fraction(1, 100), Fraction(99, 100), max_denominator=1000),
    st.integers(2, 400),
    st.booleans(),
)
def test_any_noon_agrees_with_exact_arithmetic(share: Fraction, steps: int, falls: bool) -> None:
    first, last = (Fraction(steps), Fraction(0)) if falls else (Fraction(0), Fraction(steps))
    law = ThreePoint(first + (last - first) * share)
    of = Scale(PERCENT, first, last, law, Stepped(Fraction(1)))
    codes = codes_along(Param("it", "It", of, 0), knob("IT", 7))
    assert list(codes) == [of.code_at(Fraction(n, 127)) for n in range(128)]
    assert list(codes) == sorted(codes)


def test_ties_are_settled_exactly() -> None:
    """A straight range of one step: half travel is half a step at an odd top, and never met; with a
    geometric taper from 1 to 4 half travel is 2, and 1.5 is met at no rational travel."""
    of = Scale(MS, Fraction(1), Fraction(4), Geometric(), Stepped(Fraction(1)))
    codes = codes_along(Param("it", "It", of, 0), knob("IT", 6))
    # 1.5 = 4^x at x = 0.2925: 18.4 of 63. 2.5 at 0.6610: 41.6. 3.5 at 0.9037: 56.9.
    assert [codes.index(code) for code in range(4)] == [0, 19, 42, 57]


def test_a_selector_divides_the_travel_into_equal_zones() -> None:
    it = selector("tone", "warm flat bright", "flat")
    codes = codes_along(it, knob("TONE", 4))
    # way = floor(3 n / 15), the last way at n = 15 too
    assert codes == (0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2)
    assert codes_along(Flag("on", "On", 0), knob("ON", 3)) == (0, 0, 0, 0, 1, 1, 1, 1)


# ---- which tables there are


def tables(*modes: Mode) -> dict[str, KnobTable]:
    time_of, mix = param("time", SCALES["delay time"]), param("mix", stepped("%", "0", "100", "1"))
    panel = (
        knob("A", 10, noise=3), knob("B", 10, noise=3), knob("C", 12, noise=3), knob("D", 10, noise=4),
    )
    return {table.name: table for table in fitted_tables(product((time_of, mix), panel, modes))[1]}


def test_knobs_that_are_read_alike_share_a_table() -> None:
    found = tables(
        open_mode(("A", "time"), ("C", "mix")),
        open_mode(("B", "time"), ("A", "time"), name="other"),
    )
    assert [(name, table.controls, table.adc_bits) for name, table in found.items()] == [
        ("time", ("A", "B"), 10),
        ("mix", ("C",), 12),
    ]
    assert found["time"].hysteresis == 4


def test_knobs_that_are_read_otherwise_get_tables_of_their_own() -> None:
    found = tables(open_mode(("A", "time"), ("C", "time"), ("D", "time")))
    assert [(name, table.controls, table.adc_bits, table.hysteresis) for name, table in found.items()] == [
        ("time", ("A",), 10, 4),
        ("time_by_C", ("C",), 12, 4),
        ("time_by_D", ("D",), 10, 5),
    ]
    assert all(table.item == "time" for table in found.values())
    assert all(table.table.entries == 1 << table.adc_bits for table in found.values())


def test_only_knobs_have_tables() -> None:
    layout = plan(teasel_pinch()).value
    assert layout is not None
    assert "tone" not in {table.item for table in layout.knobs}
    assert {table.item for table in layout.knobs} >= {"squeeze", "dry_blend", "vca_null", "make_up"}


def test_a_straight_taper_needs_no_table_in_flash() -> None:
    found = tables(open_mode(("A", "mix"), ("B", "time")))
    assert not isinstance(found["mix"].table, FullTable)
    assert [value_at(found["mix"].table, n) for n in (0, 511, 512, 1023)] == [0, 50, 50, 100]


def test_a_knob_of_twelve_bits_is_worked_out_in_a_blink() -> None:
    """Loose on purpose: exact arithmetic alone takes ten times as long and more."""
    of = Param("time", "Time", SCALES["delay time"], 330)
    begun = time.process_time()
    codes_along(of, knob("TIME", 12))
    assert time.process_time() - begun < 0.25
