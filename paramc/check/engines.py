"""The engine value of an item: its format, conversion and tolerance, and whether every code has one."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from paramc.check.conversions import has_number, read_conversion
from paramc.check.engine_codes import every_code_has_one
from paramc.check.engine_rules import AS_STORED, FORMAT_UNKNOWN, RELATIVE_AT_ZERO, TOLERANCE_NOT_POSITIVE
from paramc.check.engine_said import EngineSaid
from paramc.check.formats import likely
from paramc.check.proposals import WouldDo
from paramc.check.quantities import Asked, number_in
from paramc.check.statements import Statements
from paramc.check.words import short
from paramc.model.engine import AsStored, Engine, Tolerance
from paramc.model.items import Item, unit_of
from paramc.numbers.formats import Format, parse
from paramc.numbers.units import NO_UNIT, Dimension, Unit, difference_unit
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic


def with_engine(item: Item, said: Statements, would_do: WouldDo, found: list[Diagnostic]) -> Item:
    """The item with the engine that it says; without one where that is wrong."""
    written = said.get(nodes.Engine)
    if written is None:
        return item
    engine = _engine(EngineSaid(item, written, said, would_do, found))
    if engine is None:
        return item
    complete = replace(item, engine=engine)
    here = EngineSaid(complete, written, said, would_do, found)
    return complete if every_code_has_one(here, engine) else item


def _engine(here: EngineSaid) -> Engine | None:
    form = parse(here.written.format.text)
    if form is None:
        _unknown_format(here)
        return None
    node, within = here.written.conversion, here.written.within
    if node is None:
        return _as_stored(here, form)
    if not has_number(here, node):
        return None
    conversion = read_conversion(here, node, form)
    tolerance = _tolerance(here, within, unit_of(here.item) or NO_UNIT) if within else None
    if conversion is None or (within and tolerance is None):
        return None
    return Engine(form, conversion, tolerance, within is not None and within.or_nearest is not None)


def _unknown_format(here: EngineSaid) -> None:
    text = here.written.format.text
    here.tell(
        FORMAT_UNKNOWN,
        f"The engine of {here.owner} asks for the format {short(text)}, and there is none.",
        here.written.format.span,
        because=("Formats have 8, 16 or 32 bits, and those of q and uq have that many in all.",),
        try_=here.first(here.with_format(form) for form in likely(text)),
    )


def _as_stored(here: EngineSaid, form: Format) -> Engine | None:
    owner, within = here.owner, here.written.within
    if within is not None:
        here.tell(
            AS_STORED,
            f"The engine of {owner} is the code as stored, which needs no tolerance.",
            within.span,
            try_=here.first(here.bare()),
        )
        return None
    if not form.integer:
        here.tell(
            AS_STORED,
            f"The engine of {owner} is the code as stored, and {form.name} is no integer format.",
            here.written.format.span,
            because=("A conversion such as where 1 is a quantity makes a number with a fraction.",),
            try_=here.first(here.bare()),
        )
        return None
    return Engine(form, AsStored())


def _tolerance(here: EngineSaid, within: nodes.Within, unit: Unit) -> Tolerance | None:
    written, wanted = within.tolerance, difference_unit(unit)
    relative = written.amount.dimension is Dimension.SHARE and wanted.dimension is not Dimension.SHARE
    what = f"tolerance of the engine of {here.owner}"
    if relative:
        amount: Fraction | None = written.amount.base / 100
    else:
        amount = number_in(written, wanted, Asked(what, "", here.its_range()), here.found)
    if amount is None:
        return None
    if amount <= 0:
        sentence = f"The {what}, {written.amount}, is not above zero."
        try_ = "Write a tolerance above zero, or leave it out for the correctly rounded integers."
        here.tell(TOLERANCE_NOT_POSITIVE, sentence, written.span, try_=try_)
        return None
    low, high = min(here.ends()), max(here.ends())
    if relative and low <= 0 <= high:
        here.tell(
            RELATIVE_AT_ZERO,
            f"The {what}, {written.amount}, is a share of the value, and the range touches zero.",
            written.span,
            here.its_range(),
            because=("Near zero that share is nothing, so no integer would do there.",),
            try_=f"Write the tolerance in {wanted.symbol}." if wanted.symbol else "",
        )
        return None
    return Tolerance(amount, relative)
