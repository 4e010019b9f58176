"""Quantities on random grids, and proposals: what a message tells to write is really right."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.check.example import followed_by
from paramc.check.quantities import Asked, literal
from paramc.check.values import item_code
from paramc.model.items import Param
from paramc.model.scale import Coded, Geometric, Scale, Stepped, Straight
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import RATIO_TO_ONE, UNITS, Unit
from paramc.syntax import nodes
from paramc.syntax.parse import parse
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Source, Span
from tests.unit.check.told import checked, stops

SOURCE = Source("value", "value")
PLACE = Span(SOURCE, 0, 5)
ASKED = Asked("value", "item")

units = st.sampled_from([unit for unit in UNITS if unit != RATIO_TO_ONE])


def decimals(low: int, high: int, places: int = 3) -> st.SearchStrategy[Fraction]:
    return st.integers(low * 10**places, high * 10**places).map(lambda number: Fraction(number, 10**places))


@st.composite
def stepped(draw: st.DrawFn) -> Scale:
    first = draw(decimals(-1000, 1000))
    step = draw(decimals(0, 5).filter(bool))
    steps = draw(st.integers(1, 500)) * draw(st.sampled_from((1, -1)))
    off = draw(st.booleans())
    return Scale(draw(units), first, first + steps * step, Straight(), Stepped(step), off)


def read(number: Fraction, unit: Unit, scale: Scale) -> tuple[int | None, list[Diagnostic]]:
    found: list[Diagnostic] = []
    written = nodes.Quantity(PLACE, Quantity(number, unit))
    stored = item_code(written, Param("item", "Item", scale, 0), None, ASKED, found)
    return (None if stored is None else stored.code), found


@settings(deadline=None)
@given(stepped(), st.data())
def test_a_step_in_any_unit_of_the_dimension_is_its_code(scale: Scale, data: st.DataObject) -> None:
    code = data.draw(st.integers(1, scale.codes - 1))
    unit = data.draw(st.sampled_from([unit for unit in UNITS if unit.dimension is scale.unit.dimension]))
    value = Quantity(scale.first + code * scale.signed_step, scale.unit).to(unit)
    assert read(value.number, unit, scale) == (code, [])


@settings(deadline=None)
@given(stepped(), st.data())
def test_any_number_is_a_code_or_is_refused_with_the_nearest(scale: Scale, data: st.DataObject) -> None:
    room = 2 * abs(scale.last - scale.first)
    low, high = int(scale.low - room), int(scale.high + room) + 1
    number = data.draw(decimals(low, high))
    code, found = read(number, scale.unit, scale)
    # The other road: the codes and their values one by one.
    values = {k: scale.first + k * scale.signed_step for k in range(scale.off_at_stop, scale.codes)}
    if number in values.values():
        assert (values[code or 0], found) == (number, [])
        return
    [mistake] = found
    assert code is None
    proposal = mistake.try_.removeprefix("item ")
    if scale.low < number < scale.high:
        assert mistake.rule.name == "value-off-grid"
        grid = [scale.first, *values.values()]
        below = max(value for value in grid if value < number)
        above = min(value for value in grid if value > number)
        for neighbour in (below, above):
            off = neighbour == scale.first and scale.off_at_stop
            assert ("off" if off else str(Quantity(neighbour, scale.unit))) in mistake.sentence
        nearest = min(abs(value - number) for value in values.values())
        assert any(
            str(Quantity(value, scale.unit)) == proposal and abs(value - number) == nearest
            for value in values.values()
        )
    elif number == scale.first:
        assert (mistake.rule.name, proposal) == ("value-off-grid", "off")
    else:
        assert mistake.rule.name == "value-outside-range"
        end = scale.low if number < scale.low else scale.high
        off = end == scale.first and scale.off_at_stop
        assert proposal == ("off" if off else str(Quantity(end, scale.unit)))


@settings(deadline=None)
@given(st.booleans(), decimals(1, 100), decimals(101, 1000), st.booleans(), st.integers(2, 16), st.data())
def test_the_nearest_code_in_travel(
    straight: bool, low: Fraction, high: Fraction, falls: bool, bits: int, data: st.DataObject
) -> None:
    first, last = (high, low) if falls else (low, high)
    scale = Scale(UNITS[1], first, last, Straight() if straight else Geometric(), Coded(bits))
    number = data.draw(decimals(1, 1000).filter(lambda value: low <= value <= high))
    code, found = read(number, scale.unit, scale)
    # The other road: travel by the inverse of the taper, in 60 decimal digits.
    with localcontext() as context:
        context.prec = 60
        v, a, b = (Decimal(x.numerator) / x.denominator for x in (number, first, last))
        travel = (v - a) / (b - a) if straight else (v / a).ln() / (b / a).ln()
        place = travel * ((1 << bits) - 2)
        if abs(abs(place % 1) - Decimal("0.5")) > Decimal("1e-50"):  # a tie is for exact numbers
            assert code == int(place.to_integral_value(ROUND_HALF_EVEN))
    assert code is not None and found == []


@settings(deadline=None)
@given(st.fractions(), units)
def test_a_literal_reads_back_as_the_same_quantity(number: Fraction, unit: Unit) -> None:
    text = literal(number, unit)
    if text is None:
        return
    block = parse(Source("literal", f'preset 1 "x" {{ item {text} }}')).value
    assert block is not None
    [preset] = block.blocks
    assert isinstance(preset, nodes.Preset)
    [setting] = preset.lines
    assert isinstance(setting, nodes.Setting) and isinstance(setting.value, nodes.Quantity)
    assert setting.value.amount.base == Quantity(number, unit).base


# ---- proposals

_FIRST = re.compile(r"(off at stop|acts as|[a-z]+)")


def applied(text: str, mistake: Diagnostic) -> str:
    """The text with what the message proposes: in place of the statement of the same word in the block
    that it is about, and at the block's end where it has none."""
    module = parse(Source("test.paramc", text)).value
    assert module is not None and mistake.place is not None
    for block in module.blocks:
        if not block.span.start <= mistake.place.start < block.span.end:
            continue
        assert isinstance(block, nodes.Item | nodes.Preset)
        word = mistake.try_.split()[0]
        for line in block.lines:
            if line.span.text.split()[0] == word:
                return text[: line.span.start] + mistake.try_ + text[line.span.end :]
        return text[: block.span.end - 1] + f" {mistake.try_} " + text[block.span.end - 1 :]
    raise AssertionError(f"no block at {mistake.place.text}")


_NUMBERS = st.one_of(st.integers(-30, 130).map(str), st.decimals(-30, 130, places=1).map(str))
_QUANTITIES = st.tuples(_NUMBERS, st.sampled_from(("ms", "s", "us", "Hz"))).map(" ".join)


@st.composite
def params(draw: st.DrawFn) -> str:
    """A param that is right, but for one part or two in which anything may be wrong."""
    parts = st.sampled_from(("range", "grid", "noon", "default", "role", "engine"))
    faults = draw(st.sets(parts, max_size=2))
    step = draw(decimals(0, 5, 1).filter(bool))
    steps = draw(st.integers(1, 60)) * draw(st.sampled_from((1, -1)))
    first = draw(decimals(-20, 100, 1))

    def at(code: int) -> str:
        return str(Quantity(first + code * (step if steps > 0 else -step), UNITS[1]))

    def code() -> int:
        return draw(st.integers(0, abs(steps)))

    ends = f"{at(0)} .. {at(abs(steps))}"
    if "range" in faults:
        ends = draw(st.sampled_from((f"{at(0)} .. {draw(_QUANTITIES)}", f"{draw(_QUANTITIES)} .. {at(0)}")))
    lines = [f"range {ends}"]
    stepped = draw(st.booleans())
    if "grid" in faults:
        wrong = draw(st.sampled_from((draw(_QUANTITIES), "0.001 us", str(Quantity(-step, UNITS[1])))))
        lines.append(f"step {wrong}" if stepped else f"coded {draw(st.integers(0, 18))} bits")
    else:
        lines.append(f"step {Quantity(step, UNITS[1])}" if stepped else "coded 6 bits")
    if "noon" in faults:
        audio = f"audio {draw(st.integers(-10, 110))} %"
        taper = draw(st.sampled_from(("", "taper linear", "taper geometric", f"taper {audio}")))
        lines.append(f"noon {draw(st.sampled_from((draw(_QUANTITIES), at(code()))))} {taper}")
    elif draw(st.booleans()) and abs(steps) > 1:
        lines.append(f"noon {at(draw(st.integers(1, abs(steps) - 1)))}")
    if "default" in faults:
        clock = f"at {draw(st.sampled_from(('7:00', '9:30', '12:00', '2:30', '5:00')))}"
        lines.append(f"default {draw(st.one_of(_QUANTITIES, st.sampled_from(('off', 'on', clock))))}")
    else:
        lines.append(f"default {at(draw(st.integers(1, abs(steps))))}")
    lines.append(draw(st.sampled_from(("", "", "off at stop"))))
    if "role" in faults:
        lines.append(f"acts as {draw(st.sampled_from(('delay time', 'rate', 'loop gain', 'level')))}")
    if "engine" in faults:
        forms = ("u8", "u16", "s16", "q15", "uq4.4", "q8.8", "q12", "u24", "uq3.9", "q31")
        where = f"where {draw(st.integers(1, 2))} is {draw(_QUANTITIES)}"
        samples = ("as samples at 32 kHz", "as samples at 100 Hz")
        conversions = ("", "where 1 is 3 ms", where, *samples, "as phase at 100 kHz", "as gain")
        withins = ("", " within 0.1 ms", " within 1 %", " within 5 ms")
        words = (draw(st.sampled_from(choice)) for choice in (forms, conversions, withins))
        lines.append("engine {} {}{}".format(*words))
    return f'param rise "Rise" {{ {"  ".join(lines)} }}'


@pytest.mark.slow
@settings(max_examples=150, deadline=None)
@given(params())
def test_what_is_proposed_for_a_param_mends_it(block: str) -> None:
    text = followed_by(block)
    before = [found for found in checked(text).diagnostics if found.severity.value == "stop"]
    for mistake in before:
        if not mistake.try_ or mistake.try_.endswith("."):
            continue  # nothing that could stand in the source
        after = checked(applied(text, mistake)).diagnostics
        # The statement that was proposed is right: the mistake is gone, and no other comes to its place.
        places = {found.sentence for found in after}
        assert mistake.sentence not in places
        if len(before) == 1:
            _only_of_parts_not_looked_at_before(mistake, after)


def _only_of_parts_not_looked_at_before(mistake: Diagnostic, after: tuple[Diagnostic, ...]) -> None:
    """What is told after the only mistake was mended, is about what could not be read before."""
    later = {
        "out-of-bounds": {"noon-outside-range", "noon-and-taper", "value-outside-range", "value-off-grid"},
        "audio-share": {"noon-and-taper", "value-outside-range", "value-off-grid"},
        "noon-outside-range": {"value-off-grid", "value-outside-range"},
        "noon-and-taper": {"value-off-grid", "value-outside-range"},
    }.get(mistake.rule.name, set())
    engine = {"engine-overflow", "engine-too-coarse", "as-stored", "format-unknown", "conversion-dimension",
              "wrong-unit", "where-one", "phase-format", "phase-above-half", "relative-at-zero"}  # fmt: skip
    kinds = {"value-kind", "no-off", "wrong-unit"}
    unread = engine | later | kinds if later else set()
    assert {found.rule.name for found in after if found.severity.value == "stop"} <= unread


@pytest.mark.slow
@settings(max_examples=50, deadline=None)
@given(st.data())
def test_what_is_proposed_for_a_preset_mends_it(data: st.DataObject) -> None:
    items = (
        'param rise "Rise" { range 0.5 ms .. 80 ms  noon 8 ms  step 0.1 ms }',
        'param gain "Gain" { range -60 dB .. 12 dB  noon 0 dB  step 0.5 dB  off at stop }',
        'selector size "Size" { way small "Small"  way large "Large"  default large }',
        'flag tails "Tails" { default on }',
    )
    value = st.one_of(
        _QUANTITIES,
        _NUMBERS.map(lambda number: f"{number} dB"),
        st.sampled_from(("off", "on", "small", "smal", "large", "at 7:00", "at 12:01", "at 5:00")),
    )
    lines = [f"{name} {data.draw(value)}" for name in ("rise", "gain", "size", "tails", "level")]
    text = followed_by(*items, f'preset 1 "A" {{ {"  ".join(lines)} }}')
    while True:
        proposed = [
            found for found in checked(text).diagnostics if found.try_ and not found.try_.endswith(".")
        ]
        if not proposed:
            break
        count = len(stops(text))
        text = applied(text, proposed[0])
        assert len(stops(text)) == count - 1
    assert set(stops(text)) <= {"wrong-unit"}
