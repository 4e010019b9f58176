"""What tapped tempi give with each subdivision."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Final

from paramc.cli.renderers.table import table
from paramc.frozen import dataclass
from paramc.layout.layout import Layout
from paramc.layout.texts import value_text
from paramc.model.items import Param, Selector
from paramc.model.tap import Fold

BEATS_A_MINUTE: Final = (40, 50, 60, 80, 100, 120, 140, 160, 200, 240)
_SECONDS: Final = 60


@dataclass(frozen=True, slots=True)
class Tempo:
    """One tempo with one way of the chooser, "" where there is none. value: None where the taps change
    nothing. halved: how often; stopped: whether the end of the range took its place."""

    bpm: int
    way: str
    value: str | None
    halved: int
    stopped: bool


def tempi(layout: Layout) -> Iterator[Tempo]:
    """Every tempo of the table with every way, tempo after tempo; none for a product without taps."""
    tap = layout.product.tap
    if tap is None:
        return
    item = layout.product.item(tap.item)
    assert isinstance(item, Param)
    scale = item.scale
    for bpm in BEATS_A_MINUTE:
        for way, number in _ways(layout, tap.chooser):
            time = Fraction(_SECONDS, bpm) * number / scale.unit.factor
            halved, stopped, ignored = 0, False, False
            if time > scale.high:
                match tap.fold:
                    case Fold.HALVE:
                        while time > scale.high:
                            time, halved = time / 2, halved + 1
                    case Fold.STOP:
                        time, stopped = scale.high, True
                    case Fold.IGNORE:
                        ignored = True
            if time < scale.low:
                time, stopped = scale.low, True
            value = None if ignored else value_text(item, scale.nearest_code(time))
            yield Tempo(bpm, way, value, halved, stopped)


def _ways(layout: Layout, chooser: str | None) -> list[tuple[str, Fraction]]:
    if chooser is None:
        return [("", Fraction(1))]
    selector = layout.product.item(chooser)
    assert isinstance(selector, Selector)
    return [(way.label, way.number.number) for way in selector.ways if way.number is not None]


def as_text(layout: Layout) -> list[str]:
    """A table of tempi against ways; [] for a product without taps."""
    found = list(tempi(layout))
    tap = layout.product.tap
    if tap is None:
        return []
    ways = [one.way or "each tap" for one in found if one.bpm == BEATS_A_MINUTE[0]]
    rows = [
        (str(bpm), *(_cell(one) for one in found if one.bpm == bpm))
        for bpm in BEATS_A_MINUTE
    ]
    return [
        f"Tapped tempi, in beats a minute, and what they make of {tap.item}; /2 is halved once to fit,",
        "/4 twice, and end is an end of the range:",
        "",
        *table(("tempo", *ways), rows, "r" * (len(ways) + 1)),
        "",
        _kept(layout, tap.item),
    ]


def _kept(layout: Layout, name: str) -> str:
    """Whether a preset brings its own tempo."""
    item = layout.product.item(name)
    if isinstance(item, Param) and item.kept_once:
        return f"{name} is kept once: a preset that is called leaves the tempo as it was tapped."
    return f"{name} stands in every preset: one that is called brings its own tempo."


def _cell(one: Tempo) -> str:
    if one.value is None:
        return "no change"
    return one.value + (f" /{2**one.halved}" if one.halved else "") + (" end" if one.stopped else "")


def as_data(layout: Layout) -> list[dict[str, Any]]:
    """The same as data."""
    return [
        {"bpm": one.bpm, "way": one.way, "value": one.value, "halved": one.halved, "stopped": one.stopped}
        for one in tempi(layout)
    ]
