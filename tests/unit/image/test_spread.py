"""Mean and deviation of the trims of a batch, against Python's statistics."""

from __future__ import annotations

import statistics
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paramc.image.spread import Gathering
from paramc.layout.layout import Layout
from paramc.model.items import Trim
from paramc.model.scale import Coded
from paramc.numbers.real import to_text
from tests.unit.image.layouts import example, gravel_weir


def trim(name: str, layout: Layout | None = None) -> Trim:
    found = (layout or example("teasel_pinch")).product.item(name)
    assert isinstance(found, Trim)
    return found


COARSE = replace(trim("unity_level"), scale=replace(trim("unity_level").scale, grid=Coded(6)))


@pytest.mark.parametrize(
    "one", [trim("unity_level"), trim("bias", gravel_weir()), COARSE], ids=["steps", "steps down", "coded"]
)
@given(codes=st.lists(st.integers(0, 62), min_size=2, max_size=30))
def test_mean_deviation_and_nearness_are_those_of_the_values(one: Trim, codes: list[int]) -> None:
    gathering = Gathering(one)
    for at, code in enumerate(codes):
        gathering.take(f"TP-{at}", code)
    values = [Fraction(to_text(one.scale.value(code), 20)) for code in codes]
    spread = gathering.spread()
    assert spread is not None and spread.deviation is not None
    mean, deviation = (float(text.split()[0]) for text in (spread.mean, spread.deviation))
    assert mean == pytest.approx(float(statistics.mean(values)), rel=1e-3, abs=1e-6)
    assert deviation == pytest.approx(statistics.stdev(map(float, values)), rel=1e-2, abs=1e-6)
    low, high = one.plausible or (one.scale.low, one.scale.high)
    tenth = (high - low) / 10
    near = [at for at, value in enumerate(values) if not low + tenth <= value <= high - tenth]
    assert (spread.near, spread.near_serials) == (len(near), tuple(f"TP-{at}" for at in near[:8]))


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
