"""Trims: what is measured on one unit, and how the bench measures it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from paramc.check.item_rules import PLAUSIBLE_OUTSIDE_RANGE, READING_INCOMPLETE, SLOPE_ZERO
from paramc.check.proposals import WouldDo
from paramc.check.quantities import Asked, literal, number_in
from paramc.check.scale_rules import RANGE_EMPTY
from paramc.check.scales import read_scale, scale_marks
from paramc.check.statements import Statements
from paramc.check.values import ends_text, item_code, near_step
from paramc.check.words import capital
from paramc.model.items import Trim
from paramc.model.scale import Scale
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import Dimension, difference_unit
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark


def read_trim(
    block: nodes.Item, said: Statements, would_do: WouldDo, found: list[Diagnostic]
) -> Trim | None:
    """The trim of a block; None where its range or step is missing or wrong. Whatever else is wrong is
    0 or None in it, beside a stop."""
    scale = read_scale(said, True, would_do, found)
    nominal = said.need(nodes.Nominal, _nominal_proposal(scale), found)
    aim, slope = _reading(said, found)
    if scale is None:
        return None
    probe, safe = said.get(nodes.Probe), said.get(nodes.Safe)
    trim = Trim(
        name=block.name.text,
        label=block.label.value,
        scale=scale,
        nominal=0,
        plausible=_plausible(said, scale, found),
        probe=probe.text.value if probe else None,
        aim=aim,
        slope=slope,
        prefers_speed=said.get(nodes.PreferSpeed) is not None,
        place=said.place,
    )
    code = _code(nominal.value, "nominal", "nominal", trim, said, found) if nominal else None
    safe_code = _code(safe.value, "safe value", "safe", trim, said, found) if safe else None
    return replace(trim, nominal=code or 0, safe=safe_code)


def _code(
    value: nodes.Quantity, what: str, write: str, trim: Trim, said: Statements, found: list[Diagnostic]
) -> int | None:
    asked = Asked(f"{what} of {said.owner}", write, scale_marks(said))
    stored = item_code(value, trim, None, asked, found)
    return None if stored is None else stored.code


def _nominal_proposal(scale: Scale | None) -> str:
    """Zero where it is in the range, since most trims correct a difference; else the middle."""
    if scale is None:
        return "Write nominal and a quantity."
    middle = Fraction(0) if scale.holds(Fraction(0)) else (scale.first + scale.last) / 2
    near = near_step(middle, scale)
    return f"nominal {near}" if near else "Write nominal and a quantity."


def _plausible(said: Statements, scale: Scale, found: list[Diagnostic]) -> tuple[Fraction, Fraction] | None:
    """The lowest and highest value that a sound unit can need, in the range's unit."""
    node = said.get(nodes.Plausible)
    if node is None:
        return None
    asked = Asked(f"plausible range of {said.owner}", "plausible", scale_marks(said))
    ends = [number_in(end, scale.unit, asked, found) for end in (node.first, node.last)]
    first, last = ends
    if first is None or last is None:
        return None
    said_text = f"{node.first.amount} to {node.last.amount}"
    if not (scale.holds(first) and scale.holds(last)):
        sentence = f"The {asked.what}, {said_text}, is not inside its range, {ends_text(scale)}."
        low, high = (min(max(end, scale.low), scale.high) for end in (first, last))
        texts = [literal(end, scale.unit) for end in (low, high)]
        try_ = f"plausible {texts[0]} .. {texts[1]}" if low != high and None not in texts else ""
        found.append(Diagnostic(PLAUSIBLE_OUTSIDE_RANGE, sentence, node.span, asked.also, try_=try_))
        return None
    if first == last:
        sentence = f"Both ends of the {asked.what} are {node.first.amount}."
        found.append(Diagnostic(RANGE_EMPTY, sentence, node.span, asked.also))
        return None
    return min(first, last), max(first, last)


def _reading(said: Statements, found: list[Diagnostic]) -> tuple[Quantity | None, Fraction | None]:
    """What the probe should read, and how far one unit of the trim moves the reading."""
    aim, slope = said.get(nodes.Aim), said.get(nodes.Slope)
    if aim and said.get(nodes.Probe) is None:
        sentence = f"{capital(said.owner)} has an aim and no probe, so nobody knows where to measure it."
        try_ = 'Write probe and where to measure, such as probe "TP1".'
        found.append(Diagnostic(READING_INCOMPLETE, sentence, aim.span, try_=try_))
    if slope is None:
        return aim.value.amount if aim else None, None
    if aim is None:
        sentence = f"{capital(said.owner)} has a slope and no aim, so the slope has no unit."
        try_ = "Write aim and the reading that is wanted."
        found.append(Diagnostic(READING_INCOMPLETE, sentence, slope.span, try_=try_))
        return None, None
    amount = slope.value.amount
    if amount.number == 0:
        sentence = f"The slope of {said.owner} is zero, so turning it would not move the reading."
        found.append(Diagnostic(SLOPE_ZERO, sentence, slope.value.span, (Mark(aim.span, "its aim"),)))
        return aim.value.amount, None
    if amount.dimension is Dimension.COUNT:
        return aim.value.amount, amount.number
    asked = Asked(f"slope of {said.owner}", "slope", (Mark(aim.span, "its aim"),))
    return aim.value.amount, number_in(slope.value, difference_unit(aim.value.amount.unit), asked, found)
