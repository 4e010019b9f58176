"""The engine value of every code: correctly rounded, or the nearest that keeps the tolerance."""

from __future__ import annotations

import math
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest

from paramc.layout.engines import engine_values, engine_wanted
from paramc.layout.fitted import fitted_tables
from paramc.model.engine import AsStored, Conversion, Engine, Gain, Phase, Samples, Tolerance, WhereOne
from paramc.model.items import Item
from paramc.model.scale import Coded, Scale, Straight, ThreePoint
from paramc.numbers.units import SPELLINGS
from paramc.tables.forms import values_of
from paramc.tables.table import LinearRule
from tests.unit.layout.products import form, param, product, selector, stepped, teasel_pinch


def engine(name: str, conversion: Conversion, within: str | None = None, **more: bool) -> Engine:
    tolerance = None if within is None else Tolerance(Fraction(within))
    return Engine(form(name), conversion, tolerance, **more)


def test_gain_agrees_with_decimal_arithmetic() -> None:
    """10^(dB / 20) with 40 digits of the decimal module, for every half decibel."""
    it = param("level", stepped("dB", "-60", "12", "0.5"), engine=engine("uq3.13", Gain()))
    with localcontext() as context:
        context.prec = 40
        wanted = [
            int((Decimal(10) ** (Decimal(half) / 40) * 8192).to_integral_value()) for half in range(-120, 25)
        ]
    assert list(engine_values(it)) == wanted


def test_samples_agree_with_whole_numbers() -> None:
    it = param("time", stepped("ms", "20", "1200", "1"), engine=engine("u16", Samples(Fraction(32000))))
    assert list(engine_values(it)) == [32 * ms for ms in range(20, 1201)]


def test_a_coded_taper_agrees_with_doubles_where_these_are_sure() -> None:
    scale = Scale(SPELLINGS["Hz"], Fraction(80), Fraction(12000), ThreePoint(Fraction(1100)), Coded(10))
    it = param("cutoff", scale, engine=engine("u32", Phase(Fraction(48000))))
    r = (12000 - 1100) / (1100 - 80)
    found = engine_values(it)
    assert len(found) == 1023
    for code, value in enumerate(found):
        hertz = 80 + 11920 * (r ** (2 * code / 1022) - 1) / (r * r - 1)
        assert math.isclose(value, hertz * 2**32 / 48000, abs_tol=2)


def test_off_is_zero() -> None:
    it = param(
        "level", stepped("dB", "-60", "0", "1", off_at_stop=True), "-1", engine=engine("uq1.15", Gain())
    )
    assert engine_values(it)[:2] == (0, round(32768 * 10 ** (-59 / 20)))


def test_the_good_integer_nearest_to_the_rounded_one_is_taken() -> None:
    """A tolerance that stops at the range's ends: 0.4 above the lowest value rounds out of it."""
    scale = Scale(SPELLINGS["%"], Fraction("0.4"), Fraction("3.4"), Straight(), Coded(2))
    it = param("mix", scale, engine=engine("u8", WhereOne(Fraction(1)), "0.7"))
    # 0.4 rounds to 0, and good is 0.4 .. 1.1; 3.4 rounds to 3, and good is 2.7 .. 3.4.
    assert engine_values(it) == (1, 2, 3)


def test_or_nearest_takes_the_rounded_integer_where_none_is_good() -> None:
    scale = stepped("%", "0", "10", "2.5")
    it = param("mix", scale, "5", engine=engine("u8", WhereOne(Fraction(1)), "0.1", or_nearest=True))
    assert engine_values(it) == (0, 2, 5, 8, 10)


def test_without_it_a_code_with_no_good_integer_never_gets_here() -> None:
    it = param("mix", stepped("%", "0", "10", "2.5"), "5", engine=engine("u8", WhereOne(Fraction(1)), "0.1"))
    with pytest.raises(AssertionError):
        engine_values(it)


@pytest.mark.parametrize(
    "it",
    [
        selector("tone", "warm flat bright", "flat", engine=engine("u8", AsStored())),
        param("mix", stepped("%", "0", "100", "1"), engine=engine("u16", AsStored())),
    ],
)
def test_a_stored_code_is_a_rule_without_a_table(it: Item) -> None:
    ((table,), ()) = fitted_tables(product((it,)))
    assert isinstance(table.table, LinearRule)
    assert values_of(table.table) == tuple(range(it.codes))


def test_each_item_with_an_engine_has_its_table_in_reading_order() -> None:
    tables, _ = fitted_tables(teasel_pinch())
    assert [table.item for table in tables] == ["attack", "level", "tone", "detector_gain"]
    for table in tables:
        wanted = engine_wanted(teasel_pinch().item(table.item)).wanted
        assert wanted.tunnel.holds(values_of(table.table))
