"""Conversions as written: what a value is turned into, and what it takes for that."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil
from typing import Final, assert_never

from paramc.check.engine_rules import (
    CONVERSION_DIMENSION,
    CONVERSION_NUMBER,
    DECAY_NOT_POSITIVE,
    PHASE_ABOVE_HALF,
    PHASE_FORMAT,
    RATE_NOT_POSITIVE,
    WHERE_ONE,
)
from paramc.check.engine_said import EngineSaid, Proposal
from paramc.check.engine_text import conversion_words
from paramc.check.expressions import read_expression
from paramc.check.quantities import Asked, measures, number_in
from paramc.check.statement_rules import OUT_OF_BOUNDS
from paramc.check.words import listed
from paramc.model.engine import (
    ByExpression,
    Conversion,
    Decay,
    Gain,
    Phase,
    Pitch,
    Pole,
    Samples,
    WhereOne,
)
from paramc.model.expression import VALUE
from paramc.model.items import Param, Selector, Trim, unit_of
from paramc.model.scale import Stepped
from paramc.numbers.formats import Format
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import NO_UNIT, SPELLINGS, Dimension, Unit, difference_unit
from paramc.numbers.wording import real_text
from paramc.syntax import nodes

_HERTZ: Final = SPELLINGS["Hz"]
_PHASE_FORMATS: Final = ("u8", "u16", "u32")
# Further out are numbers that nobody can mean, and that take long to work out.
_MOST_DECIBELS: Final = 1000
_MOST_OCTAVES: Final = 100
_MOST_RATES: Final = 10
_LEAST_SAMPLES: Final = Fraction(1, 10)


def read_conversion(here: EngineSaid, node: nodes.Conversion, form: Format) -> Conversion | None:
    """The conversion of an engine statement whose item has a number; None beside a stop."""
    unit = unit_of(here.item) or NO_UNIT
    match node:
        case nodes.ByExpression(expression=written):
            expression = read_expression(written, f"engine of {here.owner}", {VALUE}, here.found)
            return None if expression is None else ByExpression(expression)
        case nodes.WhereOne():
            return _where_one(here, node, unit)
        case nodes.AsGain():
            return Gain() if _measures(here, unit, Dimension.LEVEL_DIFFERENCE, node) and _sane(
                here, node, f"-{_MOST_DECIBELS} dB to {_MOST_DECIBELS} dB",
                all(abs(number) <= _MOST_DECIBELS for number in here.ends()),
            ) else None  # fmt: skip
        case nodes.AsPitch():
            most = _MOST_OCTAVES * 1200
            return Pitch() if _measures(here, unit, Dimension.PITCH, node) and _sane(
                here, node, f"-{_MOST_OCTAVES} octaves to {_MOST_OCTAVES} octaves",
                all(abs(number) * unit.factor <= most for number in here.ends()),
            ) else None  # fmt: skip
        case nodes.AsSamples():
            measured = _measures(here, unit, Dimension.TIME, node)
            rate = _rate(here, node.rate)
            return Samples(rate) if measured and rate is not None else None
        case nodes.AsPhase():
            return _phase(here, node, form, unit)
        case nodes.AsPole():
            return _pole(here, node, unit)
        case nodes.AsDecay():
            return _decay(here, node, unit)
        case other:
            assert_never(other)


def has_number(here: EngineSaid, node: nodes.Conversion) -> bool:
    """Whether the item has a number for each code, which an expression finds in a flag too; else a stop."""
    by_expression = isinstance(node, nodes.ByExpression)
    if unit_of(here.item) is not None or (by_expression and not isinstance(here.item, Selector)):
        return True
    here.tell(
        CONVERSION_NUMBER,
        f"The engine of {here.owner} converts a number, and"
        f" {'its ways have none' if isinstance(here.item, Selector) else 'a flag has none'}.",
        node.span,
        try_=here.first(here.bare()),
    )
    return False


def _measures(here: EngineSaid, unit: Unit, dimension: Dimension, node: nodes.Conversion) -> bool:
    if unit.dimension is dimension:
        return True
    here.tell(
        CONVERSION_DIMENSION,
        f"The engine of {here.owner} says {conversion_words(node)}, which is for {dimension.value}, and the"
        f" item {measures(unit)}.",
        node.span,
        here.its_range(),
    )
    return False


def _sane(here: EngineSaid, node: nodes.Conversion, takes: str, inside: bool) -> bool:
    """Whether the numbers are some that anybody can mean, and that are quick to work out."""
    if not inside:
        sentence = (
            f"The engine of {here.owner} says {conversion_words(node)}, which takes {takes}, and the item"
            " goes beyond."
        )
        here.tell(OUT_OF_BOUNDS, sentence, node.span, here.its_range())
    return inside


def _rate(here: EngineSaid, written: nodes.Quantity) -> Fraction | None:
    what = f"rate in the engine of {here.owner}"
    rate = number_in(written, _HERTZ, Asked(what, ""), here.found)
    if rate is not None and rate <= 0:
        sentence = f"The {what}, {written.amount}, is not above zero."
        try_ = "Write the sample rate of the firmware, such as 32 kHz."
        here.tell(RATE_NOT_POSITIVE, sentence, written.span, try_=try_)
        return None
    return rate


def _where_one(here: EngineSaid, node: nodes.WhereOne, unit: Unit) -> Conversion | None:
    if node.one.value != 1:
        one = nodes.Integer(node.one.span, 1, False)
        here.tell(
            WHERE_ONE,
            f"The engine of {here.owner} says where {node.one.value} is, and 1 is the only number that it"
            " takes.",
            node.one.span,
            try_=here.first([here.with_conversion(nodes.WhereOne(node.span, one, node.value))]),
        )
        return None
    asked = Asked(f"quantity that is 1 in the engine of {here.owner}", "", here.its_range())
    value = number_in(node.value, difference_unit(unit), asked, here.found)
    if value == 0:
        here.tell(
            WHERE_ONE,
            f"The engine of {here.owner} says that 1 is {node.value.amount}, and nothing can be divided by"
            " that.",
            node.value.span,
        )
    return WhereOne(value) if value else None


def _phase(here: EngineSaid, node: nodes.AsPhase, form: Format, unit: Unit) -> Conversion | None:
    measured = _measures(here, unit, Dimension.FREQUENCY, node)
    rate = _rate(here, node.rate)
    if form.name not in _PHASE_FORMATS:
        wider = [bits for bits in (8, 16, 32) if bits >= form.bits]
        proposals = (here.with_format(Format(f"u{bits}", False, bits, 0)) for bits in wider)
        here.tell(
            PHASE_FORMAT,
            f"The engine of {here.owner} makes a phase step of {form.name}, and phase wraps only in"
            f" {listed(_PHASE_FORMATS, 'or')}.",
            here.written.format.span,
            try_=here.first(proposals),
        )
        return None
    if not measured or rate is None:
        return None
    fastest = max(abs(number) for number in here.ends()) * unit.factor
    if 2 * fastest < rate:
        return Phase(rate)
    here.tell(
        PHASE_ABOVE_HALF,
        f"The highest frequency of {here.owner} is not below half the rate of its engine,"
        f" {node.rate.amount}.",
        node.rate.span,
        here.its_range(),
        try_=f"Write a rate above {Quantity(2 * fastest, _HERTZ)}.",
    )
    return None


def _pole(here: EngineSaid, node: nodes.AsPole, unit: Unit) -> Conversion | None:
    measured = _measures(here, unit, Dimension.FREQUENCY, node)
    rate = _rate(here, node.rate)
    if not measured or rate is None:
        return None
    inside = all(0 <= number * unit.factor <= _MOST_RATES * rate for number in here.ends())
    return Pole(rate) if _sane(here, node, f"0 Hz to {_MOST_RATES} times its rate", inside) else None


def _decay(here: EngineSaid, node: nodes.AsDecay, unit: Unit) -> Conversion | None:
    measured = _measures(here, unit, Dimension.TIME, node)
    rate = _rate(here, node.rate)
    if not measured or rate is None:
        return None
    shortest = min(here.ends())
    if shortest <= 0:
        here.tell(
            DECAY_NOT_POSITIVE,
            f"The engine of {here.owner} says as decay, which is for times above zero, and the item has"
            f" {real_text(shortest, unit)}.",
            node.span,
            here.its_range(),
            try_=here.first(_ranges_above_zero(here)),
        )
        return None
    inside = shortest * unit.factor * rate >= _LEAST_SAMPLES
    takes = "times of a tenth of a sample and above"
    return Decay(rate) if _sane(here, node, takes, inside) else None


def _ranges_above_zero(here: EngineSaid) -> Iterator[Proposal]:
    """The item's range without its end at or below zero: one of the least steps above it, or a hundredth of
    the other end where coded."""
    if not isinstance(here.item, Param | Trim) or here.item.scale.high <= 0:
        return
    scale = here.item.scale
    leasts = [scale.high / 100]
    if isinstance(scale.grid, Stepped):
        steps = ceil(scale.high / scale.grid.step)
        leasts = [scale.high - more * scale.grid.step for more in (steps - 1, steps - 2)]
    for least in leasts:
        first, last = (least if end <= 0 else end for end in (scale.first, scale.last))
        yield from here.with_range(Quantity(first, scale.unit), Quantity(last, scale.unit))
