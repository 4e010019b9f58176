"""The table of tapped tempi in the build report: 60 s through the tempo, times the part of the beat."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest

from paramc.check.tap_rules import with_tap
from paramc.cli.renderers.tempo import BEATS_A_MINUTE, as_text, tempi
from paramc.layout.layout import Layout
from paramc.model.tap import Fold
from tests.stories import story, text_of
from tests.target.emitted import layout_of

WAYS = {
    "1/2": Fraction(2), "1/4": Fraction(1), "1/8 dotted": Fraction(3, 4), "1/8": Fraction(1, 2),
    "1/8 triplet": Fraction(1, 3),
}  # fmt: skip


@cache
def built() -> Layout:
    return layout_of(text_of("long_causeway"))


def echo(fold: Fold = Fold.HALVE) -> Layout:
    product = built().product
    assert product.tap is not None and product.tap.fold is Fold.HALVE
    return replace(built(), product=replace(product, tap=replace(product.tap, fold=fold)))


def test_every_tempo_with_every_way() -> None:
    found = list(tempi(echo()))
    assert len(found) == len(BEATS_A_MINUTE) * len(WAYS)
    for one in found:
        milliseconds = Fraction(60_000, one.bpm) * WAYS[one.way]
        halved = 0
        while milliseconds > 1200:
            milliseconds, halved = milliseconds / 2, halved + 1
        assert (one.value, one.halved, one.stopped) == (f"{round(milliseconds)} ms", halved, False)


def test_what_is_known_of_tempi() -> None:
    """120 beats a minute are 500 ms a beat; two beats fold below 100 a minute, 1200 ms being the longest."""
    found = {(one.bpm, one.way): one for one in tempi(echo())}
    assert [found[120, way].value for way in WAYS] == ["1000 ms", "500 ms", "375 ms", "250 ms", "167 ms"]
    assert [found[bpm, "1/2"].halved for bpm in BEATS_A_MINUTE] == [2, 1, 1, 1, 0, 0, 0, 0, 0, 0]


@pytest.mark.parametrize(
    ("fold", "value", "stopped"), [(Fold.STOP, "1200 ms", True), (Fold.IGNORE, None, False)]
)
def test_other_folds(fold: Fold, value: str | None, stopped: bool) -> None:
    [slow] = [one for one in tempi(echo(fold)) if (one.bpm, one.way) == (60, "1/2")]
    assert (slow.value, slow.stopped, slow.halved) == (value, stopped, 0)


def test_the_table_in_words() -> None:
    lines = as_text(echo())
    assert lines[3].split() == ["tempo", "1/2", "1/4", "1/8", "dotted", "1/8", "1/8", "triplet"]
    assert "750 ms /4" in lines[4] and "60" in lines[6]
    assert as_text(story("teasel_pinch")[0].layout) == []


def test_whether_a_preset_brings_its_tempo_is_said() -> None:
    assert as_text(echo())[-1] == "time stands in every preset: one that is called brings its own tempo."
    time = 'param time "Time" { range 20 ms .. 1200 ms  step 1 ms  default 400 ms  kept once }\n'
    setup = with_tap("tap BEAT sets time { taps 3  gap 2 s  fold halve }", time)
    kept = layout_of(setup.replace("presets 2", "setup 2 copies  presets 2"))
    said = "time is kept once: a preset that is called leaves the tempo as it was tapped."
    assert as_text(kept)[-1] == said
