"""Every code of every item of the examples, and of a product with every law and conversion: exact numbers,
doubles, good integers, tables and codes of knobs against mpmath. `python tests/measure/exact` prints them."""

from __future__ import annotations

import copy
import json
from functools import cache
from typing import Any

import pytest
from scipy.interpolate import PchipInterpolator

from paramc.layout.json_form import to_json
from paramc.layout.layout import Layout
from tests.published import by_mpmath
from tests.published.both_roads import engine_values, knob_codes
from tests.stories import AT, text_of
from tests.target.curved import CURVES
from tests.target.emitted import layout_of

DOUBLE = 1e-13
"""What the doubles may be off, as a share: some thousand times their last place, for long expressions."""


@cache
def product(name: str) -> tuple[Layout, str]:
    text = CURVES if name == "curves" else text_of(name)
    layout = layout_of(text)
    return layout, to_json(layout).decode("ascii")


@pytest.mark.slow
@pytest.mark.parametrize("name", [*AT, "curves"])
def test_engine_values_are_those_of_mpmath(name: str) -> None:
    layout, file = product(name)
    found = list(engine_values(layout, json.loads(file)))
    assert len(found) == sum(item.engine is not None for item in layout.product.items) > 0
    for one, engine in zip(found, layout.engines, strict=True):
        assert one.exact == 0 and one.doubles < DOUBLE and one.surely, one
        assert one.differing == one.outside == [], one
        # What the report says of the table: to three places.
        assert abs(one.worst - float(engine.proof.worst)) <= 0.0005 + DOUBLE, one
        assert one.without == list(engine.proof.without), one


@pytest.mark.slow
@pytest.mark.parametrize("name", [*AT, "curves"])
def test_codes_of_knobs_are_those_of_mpmath(name: str) -> None:
    layout, file = product(name)
    found = list(knob_codes(layout, json.loads(file)))
    assert len(found) == len(layout.knobs) > 0
    for one in found:
        assert one.differing == one.outside == [], one


def _doorbell() -> tuple[Layout, dict[str, Any]]:
    """A small product, and what its layout file says."""
    layout = layout_of(
        CURVES[: CURVES.index("param pole")].replace('knob A "A" { adc 12 bits', 'knob A "A" { adc 8 bits')
        + """
param volume "Volume" {
  range 6 dB .. -60 dB noon -9 dB step 1 dB off at stop flat for 6 % of travel
  engine uq2.14 as gain within 0.2 dB or nearest
}
mode main { press F does bypass A sets volume }
"""
    )
    return layout, json.loads(to_json(layout))


def test_a_small_product_agrees() -> None:
    layout, file = _doorbell()
    [values], [codes] = engine_values(layout, file), knob_codes(layout, file)
    assert values.exact == 0 and values.surely and values.differing == values.outside == codes.differing == []
    assert codes.outside == [] and codes.readings == 256


@pytest.mark.parametrize(
    ("where", "other"),
    [
        (("scale", "step"), "1.0000001"),
        (("tolerance", "amount"), "0.2001"),
        (("tolerance", "relative"), True),
        (("conversion", "kind"), "pitch"),
    ],
)
def test_another_product_is_seen(where: tuple[str, str], other: str | bool) -> None:
    layout, file = _doorbell()
    [item] = (item for item in file["product"]["items"] if item["name"] == "volume")
    part = item["scale"]["grid"] if where[0] == "scale" else item["engine"][where[0]]
    part[where[1]] = other
    [values] = engine_values(layout, file)
    assert values.exact > 0


def test_another_taper_and_another_table_are_seen() -> None:
    layout, file = _doorbell()
    wrong = copy.deepcopy(file)
    [item] = (item for item in wrong["product"]["items"] if item["name"] == "volume")
    item["scale"]["law"]["noon"] = "-11"
    [codes] = knob_codes(layout, wrong)
    assert len(codes.differing) > 10
    table = file["engines"][0]["table"]
    for stored in ("values", "offsets", "bases", "knots", "heights"):
        if stored in table:
            table[stored][0] += 300
    [values] = engine_values(layout, file)
    assert values.outside


@pytest.mark.parametrize("ends", [("0", "0.5", "0.9", "0.95", "1"), ("20", "25", "350", "380", "1200")])
def test_the_cubic_is_that_of_scipy(ends: tuple[str, ...]) -> None:
    """scipy.interpolate.PchipInterpolator, which cites Fritsch and Butland 1984."""
    travels = ("0", "3/20", "1/2", "5/8", "1")
    points = [(by_mpmath.number(x), by_mpmath.number(y)) for x, y in zip(travels, ends, strict=True)]
    ours = by_mpmath.through(points)
    theirs = PchipInterpolator([float(x) for x, _ in points], [float(y) for _, y in points])
    for n in range(101):
        assert float(ours(by_mpmath.mp.mpf(n) / 100)) == pytest.approx(float(theirs(n / 100)), rel=1e-13)


@pytest.mark.parametrize(
    ("written", "rounded", "down", "up"),
    [("0.5", 0, 0, 1), ("1.5", 2, 1, 2), ("-0.5", 0, -1, 0), ("-1.5", -2, -2, -1), ("7", 7, 7, 7),
     ("2.499", 2, 2, 3), ("1e-50", 0, 0, 0)],
)  # fmt: skip
def test_whole_numbers_of_mpmath(written: str, rounded: int, down: int, up: int) -> None:
    x = by_mpmath.mp.mpf(written)
    assert (by_mpmath.nearest(x), by_mpmath.floor(x), by_mpmath.ceil(x)) == (rounded, down, up)
