"""The range, taper and grid of a param or trim, as written and as one scale."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final, assert_never

from paramc.check import bounds
from paramc.check.proposals import WouldDo, first_that_does
from paramc.check.quantities import Asked, literal, number_in, short_literal
from paramc.check.scale_rules import (
    NOON_AND_TAPER,
    NOON_OUTSIDE_RANGE,
    RANGE_EMPTY,
    RANGE_IN_TWO_UNITS,
    STEP_NOT_POSITIVE,
    TOO_MANY_CODES,
    TWO_GRIDS,
    WHOLE_STEPS,
)
from paramc.check.statement_rules import UNSAID
from paramc.check.statements import Statements
from paramc.check.taper_rules import FLAT_NOON, FLAT_WIDTH
from paramc.check.tapers import Along, read_law
from paramc.check.values import ends_text, near_step, neighbours
from paramc.check.words import capital
from paramc.frozen import dataclass
from paramc.model.items import NO_FLAT
from paramc.model.scale import (
    HALF,
    Coded,
    Grid,
    Law,
    Scale,
    Stepped,
    Straight,
    ThreePoint,
    noon_claim_holds,
    noon_reach,
)
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import Real, multiply, power
from paramc.numbers.units import UNITS, Dimension, Unit, difference_unit
from paramc.numbers.wording import real_text
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

MOST_CODES = 0xFFFF
"""Codes that an item may have: each is kept in 16 bits, and all ones is never written."""

MOST_CODED_BITS = 16
_LEAST_CODED_BITS = 2

MOST_FLAT: Final = 12
"""The greatest share of the travel, in %, that may be flat."""

_SHARE = next(unit for unit in UNITS if unit.dimension is Dimension.SHARE)

_MOST_TRIES = 8


@dataclass(frozen=True, slots=True)
class _Ends:
    """A range in its unit, with its place."""

    node: nodes.Range
    unit: Unit
    first: Fraction
    last: Fraction

    @property
    def mark(self) -> Mark:
        return Mark(self.node.span, "its range")

    def scale(self, law: Law, grid: Grid, off_at_stop: bool = False) -> Scale:
        return Scale(self.unit, self.first, self.last, law, grid, off_at_stop)


def read_scale(said: Statements, trim: bool, would_do: WouldDo, found: list[Diagnostic]) -> Scale | None:
    """The scale of a param or trim; None where a part is missing, wrong or not built yet."""
    ends = _ends(said, found)
    grid = _grid(said, ends, trim, would_do, found)
    law = _law(said, ends, grid, would_do, found) if ends else None
    if ends is None or grid is None or law is None:
        return None
    scale = ends.scale(law, grid, said.get(nodes.OffAtStop) is not None)
    return scale if _noon_agrees(said, scale, found) else None


def scale_marks(said: Statements) -> tuple[Mark, ...]:
    """The places that say what values an item has."""
    parts = ((nodes.Range, "its range"), (nodes.Step, "its step"))
    return tuple(Mark(said.first[kind].span, text) for kind, text in parts if kind in said.first)


# ---- the range


def _ends(said: Statements, found: list[Diagnostic]) -> _Ends | None:
    node = said.need(nodes.Range, "Write range and both ends, the anticlockwise one first.", found)
    if node is None:
        return None
    first, last = node.first.amount, node.last.amount
    asked = Asked(f"last end of the range of {said.owner}", "", (Mark(node.first.span, "its first end"),))
    there = number_in(node.last, first.unit, asked, found)
    if there is None:
        return None
    if first.unit != last.unit:
        found.append(_two_units(node, said.owner))
    if there == first.number:
        sentence = f"Both ends of the range of {said.owner} are {first}."
        found.append(Diagnostic(RANGE_EMPTY, sentence, node.span))
        return None
    return _Ends(node, first.unit, first.number, there)


def _two_units(node: nodes.Range, owner: str) -> Diagnostic:
    first, last = node.first.amount, node.last.amount
    sentence = f"The range of {owner} is written in two units, {first} and {last}."
    for unit in (first.unit, last.unit):
        there = [end.to(unit) for end in (first, last)]
        texts = [str(end) for end in there]
        if [literal(end.number, unit) for end in there] == texts:
            return Diagnostic(RANGE_IN_TWO_UNITS, sentence, node.span, try_=f"range {' .. '.join(texts)}")
    return Diagnostic(RANGE_IN_TWO_UNITS, sentence, node.span)


# ---- the grid


def _grid(
    said: Statements, ends: _Ends | None, trim: bool, would_do: WouldDo, found: list[Diagnostic]
) -> Grid | None:
    step, coded = said.get(nodes.Step), said.get(nodes.Coded)
    if step and coded:
        before, after = sorted((step, coded), key=lambda node: node.span.start)
        grids = f"step {step.value.amount} and coded {coded.bits.value} bits"
        sentence = f"{capital(said.owner)} has two grids, {grids}."
        also = (Mark(before.span, "the other one"),)
        found.append(Diagnostic(TWO_GRIDS, sentence, after.span, also, try_="Keep one of them."))
        return None
    if coded:
        what, try_ = f"grid of {said.owner}", "coded {} bits"
        bits = bounds.whole(
            coded.bits, what, _LEAST_CODED_BITS, MOST_CODED_BITS, found, word="bit", try_=try_
        )
        return None if bits is None else Coded(bits)
    if step:
        return _stepped(step, said.owner, ends, would_do, found) if ends else None
    if trim:
        said.need(nodes.Step, "Write step and a quantity.", found)
    else:
        sentence = f"{capital(said.owner)} says neither step nor coded."
        try_ = "Write step and a quantity, or coded and a number of bits."
        found.append(Diagnostic(UNSAID, sentence, said.place, try_=try_))
    return None


def _stepped(
    node: nodes.Step, owner: str, ends: _Ends, would_do: WouldDo, found: list[Diagnostic]
) -> Stepped | None:
    asked = Asked(f"step of {owner}", "step", (ends.mark,))
    unit = difference_unit(ends.unit)
    step = number_in(node.value, unit, asked, found)
    if step is None:
        return None
    said = node.value.amount
    if step <= 0:
        sentence = f"The step of {owner}, {said}, is not above zero."
        tries = _proposed_steps(node, unit, [-step] if step else [])
        found.append(
            Diagnostic(STEP_NOT_POSITIVE, sentence, node.value.span, try_=first_that_does(tries, would_do))
        )
        return None
    width = abs(ends.last - ends.first)
    steps = width / step
    if steps.denominator != 1:
        found.append(_not_whole(node, owner, ends, step, would_do))
        return None
    if steps + 1 > MOST_CODES:
        sentence = f"{capital(owner)} has {steps + 1} codes, and {MOST_CODES} are the most."
        few = (times for times in _round_numbers(int(steps)) if steps / times < MOST_CODES)
        coarser = [step * times for times in few if steps % times == 0]
        try_ = first_that_does(_proposed_steps(node, unit, coarser[:_MOST_TRIES]), would_do)
        found.append(Diagnostic(TOO_MANY_CODES, sentence, node.span, (ends.mark,), try_=try_))
        return None
    return Stepped(step)


def _not_whole(
    node: nodes.Step, owner: str, ends: _Ends, step: Fraction, would_do: WouldDo
) -> Diagnostic:
    width = ends.last - ends.first
    signed = step if width > 0 else -step
    whole = int(width / signed)
    near = [ends.first + count * signed for count in (whole, whole + 1)]
    said = f"{real_text(ends.first, ends.unit)} to {real_text(ends.last, ends.unit)}"
    sentence = f"The range of {owner}, {said}, is no whole number of steps of {node.value.amount}."
    last = [real_text(end, ends.unit) for end in near]
    because = [f"{whole} steps end at {last[0]} and {whole + 1} at {last[1]}."]
    unit = difference_unit(ends.unit)
    finer = [abs(width) / count for count in (whole + 1, whole) if count]
    texts = [text for value in finer if (text := literal(value, unit)) is not None]
    if texts:
        because.append(f"A step of {' or '.join(texts)} divides it.")
    ranges = _proposed_ranges(ends, [near[1]] + ([near[0]] if whole else []))
    try_ = first_that_does(ranges, would_do) or first_that_does(_proposed_steps(node, unit, finer), would_do)
    return Diagnostic(WHOLE_STEPS, sentence, node.value.span, (ends.mark,), tuple(because), try_)


def _round_numbers(limit: int) -> Iterator[int]:
    """2, 4, 5, 10, 20, 40, 50, 100 ... up to a limit."""
    ten = 1
    while ten <= limit:
        yield from (ten * digit for digit in (1, 2, 4, 5))
        ten *= 10


def _proposed_steps(
    node: nodes.Step, unit: Unit, steps: list[Fraction]
) -> Iterator[tuple[str, nodes.ItemLine]]:
    # In the unit that was written, for 2 ms reads better than 0.002 s.
    written = node.value.amount.unit
    for step in steps:
        amount = Quantity(step, unit).to(written)
        text = literal(amount.number, written)
        if text is not None:
            yield f"step {text}", nodes.Step(node.span, nodes.Quantity(node.value.span, amount))


def _proposed_ranges(ends: _Ends, lasts: list[Fraction]) -> Iterator[tuple[str, nodes.ItemLine]]:
    first = literal(ends.first, ends.unit)
    for last in lasts:
        text = literal(last, ends.unit)
        # Both ends have to be in one unit, which a literal in the base unit might break.
        if first is None or text != str(Quantity(last, ends.unit)):
            continue
        end = nodes.Quantity(ends.node.last.span, Quantity(last, ends.unit))
        yield f"range {first} .. {text}", nodes.Range(ends.node.span, ends.node.first, end)


# ---- the taper


def _law(
    said: Statements, ends: _Ends, grid: Grid | None, would_do: WouldDo, found: list[Diagnostic]
) -> Law | None:
    taper, noon = said.get(nodes.Taper), said.get(nodes.Noon)
    if taper is None:
        return Straight() if noon is None else _through_noon(noon, said, ends, grid, found)
    along = Along(said.owner, "taper", ends.unit, ends.first, ends.last, (ends.mark,))
    return read_law(taper.law, along, would_do, found)


def _through_noon(
    node: nodes.Noon, said: Statements, ends: _Ends, grid: Grid | None, found: list[Diagnostic]
) -> Law | None:
    asked = Asked(f"noon of {said.owner}", "noon", (ends.mark,))
    noon = number_in(node.value, ends.unit, asked, found)
    if noon is None:
        return None
    share = (noon - ends.first) / (ends.last - ends.first)
    if not 0 < share < 1:
        found.append(_noon_outside(node, said, ends, grid, noon in (ends.first, ends.last)))
        return None
    return ThreePoint(noon)


def _noon_outside(
    node: nodes.Noon, said: Statements, ends: _Ends, grid: Grid | None, at_end: bool
) -> Diagnostic:
    range_text = f"{real_text(ends.first, ends.unit)} to {real_text(ends.last, ends.unit)}"
    where = "is an end of" if at_end else "is outside"
    sentence = f"The noon of {said.owner}, {node.value.amount}, {where} its range, {range_text}."
    because = ("Without a taper noon lies strictly between the ends.",) if at_end else ()
    text = _noon_text(ends, grid) if grid else None
    try_ = f"noon {text}" if text else ""
    return Diagnostic(NOON_OUTSIDE_RANGE, sentence, node.value.span, (ends.mark,), because, try_)


def _noon_text(ends: _Ends, grid: Grid) -> str | None:
    """A noon that would do: in equal ratio to both ends where they have one, else half way."""
    one_sign = ends.first * ends.last > 0
    middle: Real = (ends.first + ends.last) / 2
    if one_sign:
        middle = multiply(ends.first, power(ends.last / ends.first, HALF))
    match grid:
        case Stepped():
            scale = ends.scale(Straight(), grid)
            code = min(max(scale.nearest_code(middle), 1), scale.codes - 2)
            return literal(ends.first + code * scale.signed_step, ends.unit) if code > 0 else None
        case Coded():
            quarter = abs(ends.last - ends.first) / 4
            low, high = min(ends.first, ends.last), max(ends.first, ends.last)
            if one_sign:
                quarter = min(quarter, min(abs(low), abs(high)) / 4)
            return short_literal(middle, low + quarter / 4, high - quarter / 4, ends.unit)
        case other:
            assert_never(other)


def _noon_agrees(said: Statements, scale: Scale, found: list[Diagnostic]) -> bool:
    """Whether a noon beside a taper is the taper's, to half a step, or to half a code where coded."""
    taper, node = said.get(nodes.Taper), said.get(nodes.Noon)
    if taper is None or node is None:
        return True
    range_node = said.get(nodes.Range)
    assert range_node is not None
    also = (Mark(taper.span, "its taper"), Mark(range_node.span, "its range"))
    noon = number_in(node.value, scale.unit, Asked(f"noon of {said.owner}", "noon", also), found)
    if noon is None:
        return False
    if noon_claim_holds(scale, noon):
        return True
    real = scale.at(HALF)
    if not scale.holds(noon):
        sentence = f"The noon of {said.owner}, {node.value.amount}, is outside its range, {ends_text(scale)}."
        rule = NOON_OUTSIDE_RANGE
    else:
        sentence = (
            f"The noon of {said.owner}, {node.value.amount}, is not what its taper gives there,"
            f" {real_text(real, scale.unit)}."
        )
        rule = NOON_AND_TAPER
    if isinstance(scale.grid, Stepped):
        text = near_step(real, scale)
    else:
        text = short_literal(real, *noon_reach(scale), scale.unit)
    try_ = f"noon {text}" if text else ""
    found.append(Diagnostic(rule, sentence, node.value.span, also, try_=try_))
    return False


# ---- the flat


def read_flat(said: Statements, scale: Scale, would_do: WouldDo, found: list[Diagnostic]) -> Fraction:
    """The share of a knob's travel about noon that gives noon's value; 0 where none does."""
    node = said.get(nodes.Flat)
    if node is None:
        return NO_FLAT
    what = f"flat of {said.owner}"
    percent = number_in(node.share, _SHARE, Asked(what, ""), found)
    if percent is None:
        return NO_FLAT
    if not 0 < percent <= MOST_FLAT:
        sentence = f"The {what}, {node.share.amount}, is not above 0 % and at most {MOST_FLAT} %."
        try_ = f"flat for {1 if percent <= 0 else MOST_FLAT} % of travel"
        found.append(Diagnostic(FLAT_WIDTH, sentence, node.share.span, try_=try_))
        return NO_FLAT
    noon = _noon_off_grid(said, scale)
    if noon is None:
        return percent / 100
    # Without a default noon is the default, and is told as that.
    if said.get(nodes.Default) is not None:
        sentence = (
            f"{capital(said.owner)} is flat about noon, which is {real_text(noon, scale.unit)}, between two"
            f" steps, {neighbours(noon, scale)}."
        )
        near = near_step(noon, scale)
        try_ = f"noon {near}" if near else ""
        found.append(Diagnostic(FLAT_NOON, sentence, node.span, scale_marks(said), try_=try_))
    return NO_FLAT


def _noon_off_grid(said: Statements, scale: Scale) -> Real | None:
    """Noon, as it is written or else as the taper gives it, where no code means it; None where one does."""
    if not isinstance(scale.grid, Stepped):
        return None
    written = said.get(nodes.Noon)
    noon = scale.at(HALF) if written is None else written.value.amount.to(scale.unit).number
    return None if isinstance(noon, Fraction) and scale.exact_code(noon) is not None else noon
