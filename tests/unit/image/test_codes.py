"""Values as people write them: each has the code that the same words have in a product file."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.check.quantities import Asked
from paramc.check.values import item_code
from paramc.image.codes import Fault, Meant, code_text, knob_turn, meant_by
from paramc.layout.layout import Layout
from paramc.model.items import Item, Param, kind_word
from paramc.model.scale import Coded, Stepped
from paramc.numbers.quantity import Quantity, parse_quantity
from paramc.numbers.real import compare
from paramc.numbers.units import UNITS
from paramc.syntax import nodes
from paramc.syntax.parse import parse
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Source
from tests.unit.image.layouts import every_layout, example, gravel_weir

PINCH = "teasel_pinch"


@cache
def items() -> list[tuple[Layout, Item]]:
    return [(layout, item) for layout in every_layout() for item in layout.product.items]


def said(layout: Layout, item: str, text: str) -> Meant | Fault:
    return meant_by(layout.product, layout.product.item(item), text)


@pytest.mark.parametrize(
    ("item", "text", "code", "stored"),
    [
        ("attack", "8 ms", 75, None),
        ("attack", "8000 us", 75, None),
        ("attack", "0.008 s", 75, None),
        ("attack", "at 12:00", 75, "8 ms"),
        ("attack", "at 7:00", 0, "0.5 ms"),
        ("attack", "at 5:00", 795, "80 ms"),
        ("squeeze", "-24 dBu", 36, None),
        ("squeeze", "\N{MINUS SIGN}24\N{NO-BREAK SPACE}dBu", 36, None),
        ("ratio", "4:1", 25, None),
        ("ratio", "4 x", 25, None),
        ("level", "off", 0, None),
        ("level", "-59.5 dB", 1, None),
        ("tone", "bright", 2, None),
        ("make_up", "off", 0, None),
        ("make_up", "at 5:00", 1, "on"),
        ("side_cut", "at 12:00", 2, "mid"),
    ],
)
def test_a_value_is_its_code(item: str, text: str, code: int, stored: str | None) -> None:
    assert said(example(PINCH), item, text) == Meant(code, stored)


WAYS = "write one of its ways: warm, plain, bright."
ENDS_OFF = "is the end of its range that means off; write off, or the first value"
RANGE = "outside its range, 0.5 ms to 80 ms; the nearest is"


@pytest.mark.parametrize(
    ("item", "text", "what"),
    [
        ("attack", "90 ms", f"is {RANGE} 80 ms."),
        ("attack", "0 ms", f"is {RANGE} 0.5 ms."),
        ("squeeze", "-5 dBu", "is outside its range, -6 dBu to -42 dBu; the nearest is -6 dBu."),
        ("squeeze", "-43 dBu", "is outside its range, -6 dBu to -42 dBu; the nearest is -42 dBu."),
        ("attack", "8.05 ms", "lies between two steps, 8 ms and 8.1 ms."),
        ("squeeze", "-24.2 dBu", "lies between two steps, -24 dBu and -24.5 dBu."),
        ("attack", "8 Hz", "measures frequency, and time belongs there (us, ms, s)."),
        ("attack", "8", "has no unit, and time belongs there (us, ms, s)."),
        ("squeeze", "-24 dB", "measures level difference, and level in dBu belongs there (dBu)."),
        ("attack", "8,5 ms", "has a decimal comma; write a point."),
        ("attack", "fast", "is no value; write a quantity from 0.5 ms to 80 ms."),
        ("attack", "off", "is no value; write a quantity from 0.5 ms to 80 ms."),
        ("level", "low", "is no value; write a quantity from -60 dB to 12 dB, or off."),
        ("level", "-60 dB", f"{ENDS_OFF}, -59.5 dB."),
        ("level", "-61 dB", "is outside its range, -60 dB to 12 dB; the nearest is off."),
        ("level", "-59.9 dB", "lies between two steps, off and -59.5 dB."),
        ("attack", "at 6:15", "is no place where a knob can point; 7:00 to 5:00 are."),
        ("attack", "at 13:00", "is no place where a knob can point; 7:00 to 5:00 are."),
        ("attack", "at 2:60", "is no place where a knob can point; 7:00 to 5:00 are."),
        ("tone", "hot", f"is not known; {WAYS}"),
        ("tone", "Bright", f"is not known; {WAYS}"),
        ("tone", "at 12:00", f"is where a knob points, and no knob sets this; {WAYS}"),
        ("make_up", "1", "is not known; write on or off."),
    ],
)
def test_what_is_no_value_is_told_with_what_to_write(item: str, text: str, what: str) -> None:
    word = kind_word(example(PINCH).product.item(item)).capitalize()
    assert said(example(PINCH), item, text) == Fault(f"{word} {item}: {text} {what}")


def test_a_text_beyond_reason_is_cut_in_the_sentence() -> None:
    fault = said(example(PINCH), "attack", "9" * 100_000)
    assert isinstance(fault, Fault)
    assert len(fault.sentence) < 200


def test_a_clock_position_counts_with_the_turn_of_the_knob_that_sets_the_item() -> None:
    layout = gravel_weir()
    assert knob_turn(layout.product, "depth") == 270
    assert said(layout, "depth", "at 7:30") == Meant(0, "20 Hz")
    assert said(layout, "depth", "at 4:30") == Meant(254, "2000 Hz")
    assert said(layout, "depth", "at 7:29") == Fault(
        "Param depth: at 7:29 is outside the turn of its knob, 7:30 to 4:30 (270 degrees)."
    )
    # No knob sets the floor, so 300 degrees count; speed falls, and its first position is off.
    assert said(layout, "floor", "at 7:00") == Meant(0, "off")
    assert said(layout, "speed", "at 7:30") == Meant(0, "off")


def test_a_coded_value_is_its_nearest_neighbour_and_says_so() -> None:
    assert said(gravel_weir(), "depth", "200 Hz") == Meant(127)
    assert said(gravel_weir(), "depth", "0.201 kHz") == Meant(127, "200 Hz")
    assert said(gravel_weir(), "speed", "10 Hz") == Fault(
        f"Param speed: 10 Hz {ENDS_OFF}, 9.28 Hz."
    )
    assert said(gravel_weir(), "speed", "9.9 Hz") == Meant(1, "9.28 Hz")


def test_every_code_has_a_text_of_its_own_that_comes_back() -> None:
    for layout, item in items():
        texts = [code_text(item, code) for code in range(item.codes)]
        assert len(set(texts)) == item.codes, item.name
        for code, text in enumerate(texts):
            meant = meant_by(layout.product, item, text)
            assert isinstance(meant, Meant) and meant.code == code, (item.name, text)


@pytest.mark.parametrize("item", ["depth", "speed"])
def test_a_coded_value_is_said_with_as_few_digits_as_tell_it_from_its_neighbours(item: str) -> None:
    param = gravel_weir().product.item(item)
    assert isinstance(param, Param) and isinstance(param.scale.grid, Coded)
    for code in range(1, param.codes - 1):
        written = parse_quantity(code_text(param, code))
        assert written is not None
        # Nearness is counted in travel, so the borders are half a code away in travel, not in value.
        top = param.codes - 1
        borders = [param.scale.at(Fraction(2 * code + side, 2 * top)) for side in (-1, 1)]
        assert {compare(written.number, border) for border in borders} == {-1, 1}
        assert len(str(written.number.numerator)) <= 5


def language_code(layout: Layout, item: Item, text: str) -> int | None:
    """The code that a product file gives a value, by the stages that read one; None for a mistake."""
    module = parse(Source("x.paramc", f'preset 1 "x" {{ {item.name} {text}\n}}')).value
    if module is None:
        return None
    [preset] = module.blocks
    assert isinstance(preset, nodes.Preset)
    lines = [line for line in preset.lines if isinstance(line, nodes.Setting)]
    if len(lines) != 1:
        return None
    found: list[Diagnostic] = []
    turn = knob_turn(layout.product, item.name)
    stored = item_code(lines[0].value, item, turn, Asked("value", item.name), found)
    assert (stored is None) == bool(found)
    return None if stored is None else stored.code


@st.composite
def written_values(draw: st.DrawFn) -> tuple[Layout, Item, str]:
    layout, item = draw(st.sampled_from(items()))
    clock = st.builds("at {}:{:02}".format, st.integers(0, 13), st.integers(0, 61))
    words = st.sampled_from(["on", "off", "warm", "plain", "low", "dim", "hot"])
    if not isinstance(item, Param):
        return layout, item, draw(st.one_of(clock, words))
    scale = item.scale
    around = st.fractions(scale.low - 2, scale.high + 2, max_denominator=1000)
    step = scale.grid.step if isinstance(scale.grid, Stepped) else (scale.high - scale.low) / 1000
    on_grid = st.integers(-3, scale.codes + 3).map(lambda k: scale.first + k * step)
    unit = draw(st.sampled_from([unit for unit in UNITS if unit.dimension is scale.unit.dimension]))
    number = st.one_of(around, on_grid).map(lambda value: str(Quantity(value, scale.unit).to(unit)))
    return layout, item, draw(st.one_of(number.filter(lambda text: "about" not in text), clock, words))


@pytest.mark.slow
@settings(max_examples=150, deadline=None)
@given(written_values())
def test_a_document_and_a_product_file_mean_the_same(value: tuple[Layout, Item, str]) -> None:
    layout, item, text = value
    meant = meant_by(layout.product, item, text)
    assert (meant.code if isinstance(meant, Meant) else None) == language_code(layout, item, text)
    if isinstance(meant, Meant):
        assert 0 <= meant.code < item.codes
        assert meant.stored in (None, code_text(item, meant.code))
