"""Whether every code of an item has an engine value: an answer, inside the format, near enough."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import islice
from typing import Final

from paramc.check.engine_rules import ENGINE_OVERFLOW, ENGINE_TOO_COARSE
from paramc.check.engine_said import EngineSaid, Proposal
from paramc.check.engine_text import engine_text
from paramc.check.expression_rules import EXPRESSION_BY_ZERO, EXPRESSION_NOT_REAL, EXPRESSION_TOO_LARGE
from paramc.check.expressions import held_from
from paramc.check.fits import first_overflow, reach, without_integer
from paramc.check.formats import finer
from paramc.check.quantities import short_literal
from paramc.check.values import code_text
from paramc.check.words import counted, listed
from paramc.model.answers import NoAnswer, Why
from paramc.model.engine import ByExpression, Engine, Phase
from paramc.model.items import Param, Trim, engine_exact
from paramc.model.scale import HALF, Scale, Stepped
from paramc.model.tunnels import first_without_answer
from paramc.numbers.formats import Format, formats_that_hold
from paramc.numbers.quantity import Quantity, parse_quantity
from paramc.numbers.real import add, compare, multiply, nearest
from paramc.syntax import nodes

_CODES_SHOWN: Final = 4
_CODES_COUNTED: Final = 1000
_RULES: Final = {
    Why.BY_ZERO: EXPRESSION_BY_ZERO,
    Why.NOT_REAL: EXPRESSION_NOT_REAL,
    Why.TOO_LARGE: EXPRESSION_TOO_LARGE,
}


def every_code_has_one(here: EngineSaid, engine: Engine) -> bool:
    """Whether every code of the item, which has this engine, has an engine value; else tells of the first
    that has no answer or overflows, or of those for which no integer is good."""
    item = here.item
    if isinstance(engine.conversion, ByExpression):
        without = first_without_answer(item)
        if without is not None:
            _no_answer(here, *without)
            return False
    code = first_overflow(item)
    if code is not None:
        _overflow(here, engine, code)
        return False
    if engine.or_nearest:
        return True
    # A trial needs no more than one, and nobody reads more than some.
    most = 1 if here.would_do is None else _CODES_COUNTED + 1
    lacking = list(islice(without_integer(item), most))
    if lacking:
        _too_coarse(here, engine, lacking)
    return not lacking


# ---- no answer


def _no_answer(here: EngineSaid, code: int, why: NoAnswer) -> None:
    item, conversion = here.item, here.written.conversion
    assert conversion is not None
    said = why.sentence.rstrip(".")
    here.tell(
        _RULES[why.why],
        f"Code {code} of {here.owner}, {code_text(item, code)}, has no engine value:"
        f" {said[0].lower()}{said[1:]} there.",
        why.place or conversion.span,
        here.its_range(),
        try_=here.first((*_ranges_without(here, code), *_held_expressions(here, why)))
        or ("Write an expression that grows more slowly." if why.why is Why.TOO_LARGE else ""),
    )


def _held_expressions(here: EngineSaid, why: NoAnswer) -> Iterator[Proposal]:
    """The same expression with what has no answer held at zero, or at a step or 1 above it."""
    node, item = here.written.conversion, here.item
    if isinstance(node, nodes.ByExpression) and why.place is not None and why.why is not Why.TOO_LARGE:
        grid = item.scale.grid if isinstance(item, Param | Trim) else None
        least = grid.step if isinstance(grid, Stepped) else Fraction(1)
        for number in (Fraction(0), least) if why.why is Why.NOT_REAL else (least,):
            held = held_from(node.expression, why.place, number)
            yield here.with_conversion(nodes.ByExpression(node.span, held))


def _ranges_without(here: EngineSaid, code: int) -> Iterator[Proposal]:
    """The widest range that leaves a code out at its own end, where the code stands at one."""
    if not isinstance(here.item, Param | Trim):
        return
    scale = here.item.scale
    first, last = Quantity(scale.first, scale.unit), Quantity(scale.last, scale.unit)
    if code == int(scale.off_at_stop):
        inner = _inside(scale, code, code + 1)
        yield from [] if inner is None else here.with_range(inner, last)
    else:
        inner = _inside(scale, code, code - 1)
        yield from [] if inner is None else here.with_range(first, inner)


def _inside(scale: Scale, bad: int, good: int) -> Quantity | None:
    """The value of the code beside one that is left out; on a coded grid a short one between the two."""
    near, out = scale.value(good), scale.value(bad)
    if isinstance(scale.grid, Stepped):
        assert isinstance(near, Fraction)
        return Quantity(near, scale.unit)
    half = multiply(add(near, out), HALF)
    low, high = (half, near) if compare(half, near) < 0 else (near, half)
    text = short_literal(near, low, high, scale.unit)
    return None if text is None else parse_quantity(text)


# ---- outside the format


def _overflow(here: EngineSaid, engine: Engine, code: int) -> None:
    item = here.item
    form, number = engine.format, engine_exact(item, code)
    # The number may be too long to write out; comparing it is always possible.
    if compare(number, Fraction(1 << 64)) > 0:
        becomes = "a number above 2^64"
    elif compare(number, Fraction(-1 << 64)) < 0:
        becomes = "a number below -2^64"
    else:
        becomes = str(nearest(number))
    holders: list[Format] = []
    # Where a statement is tried out, nothing is proposed.
    if here.would_do is not None and not isinstance(engine.conversion, Phase):
        holders.extend(formats_that_hold(*reach(item), form))
    here.tell(
        ENGINE_OVERFLOW,
        f"Code {code} of {here.owner}, {code_text(item, code)}, becomes {becomes}, and {form.name} holds"
        f" {form.minimum} to {form.maximum}.",
        here.written.format.span,
        here.its_range(),
        because=(f"{holders[0].name} holds every code.",) if holders else (),
        try_=here.first(here.with_format(holder) for holder in holders),
    )


# ---- not near enough


def _too_coarse(here: EngineSaid, engine: Engine, lacking: list[int]) -> None:
    item, written, within = here.item, here.written, here.written.within
    assert within is not None
    count = counted(len(lacking), "code")
    if len(lacking) > _CODES_COUNTED:
        count = f"more than {_CODES_COUNTED} codes"
    shown = [f"code {code} ({code_text(item, code)})" for code in lacking[:_CODES_SHOWN]]
    if len(lacking) > _CODES_SHOWN:
        first = f"The first are {listed(shown)}."
    else:
        first = f"{'They are' if len(shown) > 1 else 'It is'} {listed(shown)}."
    or_nearest = nodes.Within(within.span, within.tolerance, nodes.OrNearest(within.span))
    nearest_do = nodes.Engine(written.span, written.format, written.conversion, or_nearest)
    proposals: list[Proposal] = [here.with_format(form) for form in finer(engine.format)]
    proposals.append((engine_text(nearest_do), nearest_do))
    here.tell(
        ENGINE_TOO_COARSE,
        f"For {count} of {item.codes} of {here.owner} no integer of {engine.format.name} is within"
        f" {within.tolerance.amount}.",
        within.tolerance.span,
        because=(first, "With or nearest the correctly rounded integer does there."),
        try_=here.first(proposals),
    )
