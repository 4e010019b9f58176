"""The knob-clock table against the laws written out once more, and the pictures as readers take them."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from paramc.layout.layout import Layout
from paramc.model.items import Param
from paramc.model.laws import Points
from paramc.plot.curve import PARTS, Curve, curve_of, half_hours, zones_of
from paramc.plot.raster import COLUMNS, ROWS, drawn
from paramc.plot.svg import as_svg
from tests.stories import AT, story

SVG = "{http://www.w3.org/2000/svg}"


def layout(name: str) -> Layout:
    return story(name)[AT[name] - 1].layout


def param(name: str, item: str) -> Param:
    found = layout(name).product.item(item)
    assert isinstance(found, Param)
    return found


def curve(name: str, item: str) -> Curve:
    return curve_of(layout(name), param(name, item))


def three_point(low: float, noon: float, high: float, travel: float) -> float:
    """The law through both ends and noon, as the language has it."""
    r = (high - noon) / (noon - low)
    return low + (high - low) * (r ** (2 * travel) - 1) / (r * r - 1)


def travel_of(low: float, noon: float, high: float, value: float) -> float:
    r = (high - noon) / (noon - low)
    return math.log((value - low) / (high - low) * (r * r - 1) + 1, r) / 2


def test_every_half_hour_of_a_delay() -> None:
    found = curve("long_causeway", "time")
    assert len(found.positions) == 21
    for at, one in enumerate(found.positions):
        assert one.value == f"{round(three_point(20, 350, 1200, at / 20))} ms"
        # 32 samples a millisecond
        assert one.engine == 32 * int(one.value.removesuffix(" ms")) and one.code == one.engine // 32 - 20
    clocks = [one.clock for one in found.positions]
    assert clocks[:3] + clocks[10:11] + clocks[-2:] == ["7:00", "7:30", "8:00", "12:00", "4:30", "5:00"]
    assert (found.range, found.noon, found.set_by) == ("20 ms to 1200 ms", "350 ms", "TIME in mode main")


def test_each_third_of_the_range_owns_its_travel() -> None:
    thirds = curve("long_causeway", "time").thirds
    borders = [travel_of(20, 350, 1200, 20 + 1180 * part / 3) for part in range(4)]
    for part, third in enumerate(thirds):
        assert float(third.share) == pytest.approx(borders[part + 1] - borders[part], abs=0.0006)
    assert sum(third.share for third in thirds) == 1
    assert (thirds[0].begins, thirds[2].ends) == ("7:00", "5:00")
    assert (thirds[0].high, thirds[1].high) == ("413 ms", "807 ms")


def test_a_range_that_falls_falls() -> None:
    found = curve("teasel_pinch", "squeeze")
    assert (found.positions[0].value, found.positions[10].value) == ("-6 dBu", "-24 dBu")
    assert list(found.values) == sorted(found.values, reverse=True)
    lines = drawn(found)
    assert lines[0].startswith(" -6 dBu +**") and lines[ROWS - 1].startswith("-42 dBu +")


def test_off_at_the_stop() -> None:
    found = curve("teasel_pinch", "level")
    assert (found.positions[0].value, found.positions[0].engine) == ("off", 0)
    assert found.positions[1].value.endswith(" dB") and found.range.startswith("off, then ")


def test_a_knob_of_another_turn_begins_and_ends_elsewhere() -> None:
    assert half_hours(Fraction(300)) == tuple(Fraction(at, 20) for at in range(21))
    assert half_hours(Fraction(270)) == tuple(Fraction(at, 18) for at in range(19))
    # 280 degrees: 7:20 to 4:40, whose half hours lie 15 degrees apart around noon.
    half = Fraction(1, 2)
    assert half_hours(Fraction(280))[:3] == (0, half - Fraction(9 * 15, 280), half - Fraction(8 * 15, 280))


def test_points_and_a_flat() -> None:
    """Noon's value on either side of noon, and thirds that leave the flat where the taper does."""
    item = param("long_causeway", "tilt")
    law = Points(((Fraction(0), Fraction(-100)), (Fraction(1, 2), Fraction(0)), (Fraction(1), Fraction(100))))
    flat = replace(item, scale=replace(item.scale, law=law), flat=Fraction(1, 10))
    found = curve_of(layout("long_causeway"), flat)
    assert [one.value for one in found.positions if one.clock in ("11:30", "12:00", "12:30")] == ["0 %"] * 3
    assert [found.values[PARTS // 2 + side * PARTS // 20] for side in (-1, 0, 1)] == [0, 0, 0]
    assert found.thirds[0].share == found.thirds[2].share and sum(one.share for one in found.thirds) == 1


def test_zones_share_the_travel() -> None:
    product = layout("teasel_pinch").product
    side_cut = product.item("side_cut")
    assert not isinstance(side_cut, Param)
    zones = zones_of(layout("teasel_pinch"), side_cut)  # type: ignore[arg-type]
    assert [(one.way, one.begins, one.ends) for one in zones] == [
        ("none", "7:00", "9:00"), ("low", "9:00", "11:00"), ("mid", "11:00", "1:00"),
        ("high", "1:00", "3:00"), ("top", "3:00", "5:00"),
    ]  # fmt: skip


def test_a_drawing_needs_neither_colour_nor_wide_letters() -> None:
    one, other = curve("long_causeway", "time"), curve("long_causeway", "time")
    lines = drawn(one, other.values)
    assert len(lines) == ROWS + 2 and all(line.isascii() and line.isprintable() for line in lines)
    edge = lines[0].index("+")
    assert all(len(line) <= edge + 1 + COLUMNS + 4 for line in lines)
    # Both are the same: each cell of the curve is marked as both.
    body = "".join(line[edge + 1 :] for line in lines[:ROWS])
    assert set(body) == {" ", ":", "#"} and body.count("#") >= COLUMNS
    # Every column has a cell of the curve, and neighbours touch.
    alone = [line[edge + 1 :].ljust(COLUMNS) for line in drawn(one)[:ROWS]]
    cells = [{row for row in range(ROWS) if alone[row][column] == "*"} for column in range(COLUMNS)]
    for left, right in pairwise(cells):
        assert min(abs(a - b) for a in left for b in right) <= 1


def test_the_picture_says_in_words_what_it_shows() -> None:
    hostile = replace(param("long_causeway", "time"), label='Time <script>alert("x")</script> & more')
    found = curve_of(layout("long_causeway"), hostile)
    data = as_svg(found, found.values)
    tree = ElementTree.fromstring(data)
    assert tree.tag == f"{SVG}svg" and tree.get("role") == "img"
    assert [child.tag for child in tree.iter() if "script" in child.tag] == []
    text = tree.findtext(f"{SVG}desc")
    assert text is not None and text.startswith("at 7:00 20 ms; at 7:30 41 ms; ")
    assert text.endswith("at 5:00 1200 ms.")
    assert tree.findtext(f"{SVG}title") == 'Taper of param Time <script>alert("x")</script> & more'
    lines = {line.get("class"): line.get("points", "").split() for line in tree.iter(f"{SVG}polyline")}
    assert set(lines) == {"now", "older"} and len(lines["now"]) == PARTS + 1
    assert lines["now"][0] == "96.0,384.0" and lines["now"][-1] == "696.0,44.0"
    assert as_svg(found) == as_svg(found) and b'polyline class="older"' not in as_svg(found)
