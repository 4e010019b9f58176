"""Mean and deviation of the trims of a batch, against Python's statistics."""

from __future__ import annotations

import statistics
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paramc.image.spread import Gathering
from paramc.model.items import Trim
from tests.unit.image.layouts import example


def trim(name: str) -> Trim:
    found = example("teasel_pinch").product.item(name)
    assert isinstance(found, Trim)
    return found


@given(st.lists(st.integers(0, 80), min_size=2, max_size=30))
def test_mean_and_deviation_are_those_of_a_library(codes: list[int]) -> None:
    one = trim("unity_level")
    gathering = Gathering(one)
    for at, code in enumerate(codes):
        gathering.take(f"TP-{at}", code)
    values = [Fraction(one.scale.value(code)) for code in codes]  # type: ignore[arg-type]
    spread = gathering.spread()
    assert spread is not None and spread.deviation is not None
    assert float(spread.mean.split()[0]) == pytest.approx(float(statistics.mean(values)), rel=1e-3, abs=1e-6)
    assert float(spread.deviation.split()[0]) == pytest.approx(
        statistics.stdev(map(float, values)), rel=1e-2, abs=1e-6
    )


def test_those_near_an_end_are_counted_and_the_first_named() -> None:
    one = trim("unity_level")  # -1.5 dB to 1.5 dB is plausible, so a tenth is 0.3 dB
    codes = {text: one.scale.nearest_code(Fraction(text)) for text in ("1.2", "1.25", "-1.25", "0")}
    gathering = Gathering(one)
    for text, code in codes.items():
        gathering.take(text, code)
    for at in range(10):
        gathering.take(f"T{at}", codes["1.25"])
    spread = gathering.spread()
    assert spread is not None
    assert (spread.near, len(spread.near_serials)) == (12, 8)
    assert spread.near_serials[:3] == ("1.25", "-1.25", "T0")


def test_one_unit_has_no_deviation_and_none_no_spread() -> None:
    gathering = Gathering(trim("vca_null"))
    assert gathering.spread() is None
    gathering.take("TP-1", 130)
    spread = gathering.spread()
    assert spread is not None and (spread.mean, spread.deviation) == ("2", None)
