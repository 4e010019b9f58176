"""The engine value of an item: its format, conversion and tolerance, and whether every code has one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from typing import assert_never

from paramc.check.engine_rules import (
    AS_STORED,
    CONVERSION_DIMENSION,
    CONVERSION_NUMBER,
    ENGINE_OVERFLOW,
    ENGINE_TOO_COARSE,
    FORMAT_UNKNOWN,
    PHASE_ABOVE_HALF,
    PHASE_FORMAT,
    RATE_NOT_POSITIVE,
    RELATIVE_AT_ZERO,
    TOLERANCE_NOT_POSITIVE,
    WHERE_ONE,
)
from paramc.check.engine_text import Converts, conversion_words, engine_text
from paramc.check.fits import first_overflow, reach, without_integer
from paramc.check.formats import finer, likely
from paramc.check.quantities import Asked, measures, number_in
from paramc.check.scales import WouldDo, first_that_does
from paramc.check.statement_rules import OUT_OF_BOUNDS
from paramc.check.statements import Statements
from paramc.check.values import code_text
from paramc.check.words import counted, listed, short
from paramc.model.engine import AsStored, Conversion, Engine, Gain, Phase, Samples, Tolerance, WhereOne
from paramc.model.items import Item, Param, Selector, Trim, engine_exact, unit_of
from paramc.numbers.formats import Format, formats_that_hold, parse
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import compare, nearest
from paramc.numbers.units import SPELLINGS, Dimension, Unit, difference_unit
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark, Rule
from paramc.text.source import Span

_HERTZ = SPELLINGS["Hz"]
_PHASE_FORMATS = ("u8", "u16", "u32")
_MOST_DECIBELS = 1000
_CODES_SHOWN = 4
_CODES_COUNTED = 1000


def with_engine(item: Item, said: Statements, would_do: WouldDo, found: list[Diagnostic]) -> Item:
    """The item with the engine that it says; without one where that is wrong, or waits for a later
    version."""
    written = said.get(nodes.Engine)
    if written is None:
        return item
    reading = _Reading(item, written, said, would_do, found)
    engine = reading.engine()
    if engine is None:
        return item
    complete = replace(item, engine=engine)
    return complete if reading.fits(complete, engine) else item


@dataclass(frozen=True, slots=True)
class _Reading:
    """One engine statement and the item that it belongs to, which has no engine yet."""

    item: Item
    written: nodes.Engine
    said: Statements
    would_do: WouldDo
    found: list[Diagnostic]

    # ---- what it says

    def engine(self) -> Engine | None:
        form = parse(self.written.format.text)
        if form is None:
            self._unknown_format()
            return None
        match self.written.conversion:
            case None:
                return self._as_stored(form)
            case nodes.AsPole() | nodes.AsPitch() | nodes.AsDecay() | nodes.ByExpression():
                return None
            case nodes.WhereOne() | nodes.AsGain() | nodes.AsSamples() | nodes.AsPhase() as node:
                unit = unit_of(self.item)
                if unit is None:
                    self._no_number(node)
                    return None
                conversion = self._conversion(node, form, unit)
            case other:
                assert_never(other)
        within = self.written.within
        tolerance = self._tolerance(within, unit) if within else None
        if conversion is None or (within and tolerance is None):
            return None
        return Engine(form, conversion, tolerance, within is not None and within.or_nearest is not None)

    def _unknown_format(self) -> None:
        text = self.written.format.text
        try_ = self._first(self._with_format(form) for form in likely(text))
        self._tell(
            FORMAT_UNKNOWN,
            f"The engine of {self.said.owner} asks for the format {short(text)}, and there is none.",
            self.written.format.span,
            because=("Formats have 8, 16 or 32 bits, and those of q and uq have that many in all.",),
            try_=try_,
        )

    def _as_stored(self, form: Format) -> Engine | None:
        owner, within = self.said.owner, self.written.within
        if within is not None:
            self._tell(
                AS_STORED,
                f"The engine of {owner} is the code as stored, which needs no tolerance.",
                within.span,
                try_=self._first(self._bare()),
            )
            return None
        if not form.integer:
            self._tell(
                AS_STORED,
                f"The engine of {owner} is the code as stored, and {form.name} is no integer format.",
                self.written.format.span,
                because=("A conversion such as where 1 is a quantity makes a number with a fraction.",),
                try_=self._first(self._bare()),
            )
            return None
        return Engine(form, AsStored())

    def _no_number(self, node: nodes.Conversion) -> None:
        self._tell(
            CONVERSION_NUMBER,
            f"The engine of {self.said.owner} converts a number, and"
            f" {'its ways have none' if isinstance(self.item, Selector) else 'a flag has none'}.",
            node.span,
            try_=self._first(self._bare()),
        )

    def _conversion(
        self,
        node: Converts,
        form: Format,
        unit: Unit,
    ) -> Conversion | None:
        match node:
            case nodes.WhereOne():
                return self._where_one(node, unit)
            case nodes.AsGain():
                measured = self._measures(unit, Dimension.LEVEL_DIFFERENCE, node)
                return Gain() if measured and self._sane_gain(node) else None
            case nodes.AsSamples():
                measured = self._measures(unit, Dimension.TIME, node)
                rate = self._rate(node.rate)
                return Samples(rate) if measured and rate is not None else None
            case nodes.AsPhase():
                measured = self._measures(unit, Dimension.FREQUENCY, node)
                rate = self._rate(node.rate)
                if form.name not in _PHASE_FORMATS:
                    self._no_phase(form)
                    return None
                if not measured or rate is None or not self._below_half(unit, rate, node):
                    return None
                return Phase(rate)
            case other:
                assert_never(other)

    def _where_one(self, node: nodes.WhereOne, unit: Unit) -> Conversion | None:
        if node.one.value != 1:
            one = nodes.Integer(node.one.span, 1, False)
            where_one = nodes.WhereOne(node.span, one, node.value)
            written = self.written
            proposal = nodes.Engine(written.span, written.format, where_one, written.within)
            self._tell(
                WHERE_ONE,
                f"The engine of {self.said.owner} says where {node.one.value} is, and 1 is the only number"
                " that it takes.",
                node.one.span,
                try_=self._first([(engine_text(proposal), proposal)]),
            )
            return None
        asked = Asked(f"quantity that is 1 in the engine of {self.said.owner}", "", self._also())
        value = number_in(node.value, difference_unit(unit), asked, self.found)
        if value == 0:
            self._tell(
                WHERE_ONE,
                f"The engine of {self.said.owner} says that 1 is {node.value.amount}, and nothing can be"
                " divided by that.",
                node.value.span,
            )
        return WhereOne(value) if value else None

    def _measures(self, unit: Unit, dimension: Dimension, node: Converts) -> bool:
        if unit.dimension is dimension:
            return True
        self._tell(
            CONVERSION_DIMENSION,
            f"The engine of {self.said.owner} says {conversion_words(node)}, which is for"
            f" {dimension.value}, and the item {measures(unit)}.",
            node.span,
            self._also(),
        )
        return False

    def _sane_gain(self, node: nodes.AsGain) -> bool:
        """Whether the ratios are numbers that anybody can mean, and that are quick to work out."""
        if max(abs(number) for number in _ends(self.item)) <= _MOST_DECIBELS:
            return True
        sentence = (
            f"The engine of {self.said.owner} says as gain, which takes -{_MOST_DECIBELS} dB to"
            f" {_MOST_DECIBELS} dB, and the item goes beyond."
        )
        self._tell(OUT_OF_BOUNDS, sentence, node.span, self._also())
        return False

    def _rate(self, written: nodes.Quantity) -> Fraction | None:
        what = f"rate in the engine of {self.said.owner}"
        rate = number_in(written, _HERTZ, Asked(what, ""), self.found)
        if rate is not None and rate <= 0:
            sentence = f"The {what}, {written.amount}, is not above zero."
            try_ = "Write the sample rate of the firmware, such as 32 kHz."
            self._tell(RATE_NOT_POSITIVE, sentence, written.span, try_=try_)
            return None
        return rate

    def _no_phase(self, form: Format) -> None:
        wider = [bits for bits in (8, 16, 32) if bits >= form.bits]
        proposals = (self._with_format(Format(f"u{bits}", False, bits, 0)) for bits in wider)
        self._tell(
            PHASE_FORMAT,
            f"The engine of {self.said.owner} makes a phase step of {form.name}, and phase wraps only in"
            f" {listed(_PHASE_FORMATS, 'or')}.",
            self.written.format.span,
            try_=self._first(proposals),
        )

    def _below_half(self, unit: Unit, rate: Fraction, node: nodes.AsPhase) -> bool:
        fastest = max(abs(number) for number in _ends(self.item)) * unit.factor
        if 2 * fastest < rate:
            return True
        self._tell(
            PHASE_ABOVE_HALF,
            f"The highest frequency of {self.said.owner} is not below half the rate of its engine,"
            f" {node.rate.amount}.",
            node.rate.span,
            self._also(),
            try_=f"Write a rate above {Quantity(2 * fastest, _HERTZ)}.",
        )
        return False

    def _tolerance(self, within: nodes.Within, unit: Unit) -> Tolerance | None:
        written, wanted = within.tolerance, difference_unit(unit)
        relative = written.amount.dimension is Dimension.SHARE and wanted.dimension is not Dimension.SHARE
        what = f"tolerance of the engine of {self.said.owner}"
        if relative:
            amount: Fraction | None = written.amount.base / 100
        else:
            amount = number_in(written, wanted, Asked(what, "", self._also()), self.found)
        if amount is None:
            return None
        if amount <= 0:
            sentence = f"The {what}, {written.amount}, is not above zero."
            try_ = "Write a tolerance above zero, or leave it out for the correctly rounded integers."
            self._tell(TOLERANCE_NOT_POSITIVE, sentence, written.span, try_=try_)
            return None
        low, high = min(_ends(self.item)), max(_ends(self.item))
        if relative and low <= 0 <= high:
            self._tell(
                RELATIVE_AT_ZERO,
                f"The {what}, {written.amount}, is a share of the value, and the range touches zero.",
                written.span,
                self._also(),
                because=("Near zero that share is nothing, so no integer would do there.",),
                try_=f"Write the tolerance in {wanted.symbol}." if wanted.symbol else "",
            )
            return None
        return Tolerance(amount, relative)

    # ---- whether every code has an integer

    def fits(self, item: Item, engine: Engine) -> bool:
        """Whether every code has an integer; else tells of one that overflows, or of those for which
        none is good."""
        code = first_overflow(item)
        if code is not None:
            self._overflow(item, engine, code)
            return False
        if engine.or_nearest:
            return True
        # A trial needs no more than one, and nobody reads more than some.
        most = 1 if self.would_do is None else _CODES_COUNTED + 1
        lacking = list(islice(without_integer(item), most))
        if lacking:
            self._too_coarse(item, engine, lacking)
        return not lacking

    def _overflow(self, item: Item, engine: Engine, code: int) -> None:
        form, number = engine.format, engine_exact(item, code)
        # The number may be too long to write out; comparing it is always possible.
        if compare(number, Fraction(1 << 64)) > 0:
            becomes = "a number above 2^64"
        elif compare(number, Fraction(-1 << 64)) < 0:
            becomes = "a number below -2^64"
        else:
            becomes = str(nearest(number))
        holders: list[Format] = []
        if not isinstance(engine.conversion, Phase):
            holders.extend(formats_that_hold(*reach(item), form))
        self._tell(
            ENGINE_OVERFLOW,
            f"Code {code} of {self.said.owner}, {code_text(item, code)}, becomes {becomes}, and {form.name}"
            f" holds {form.minimum} to {form.maximum}.",
            self.written.format.span,
            self._also(),
            because=(f"{holders[0].name} holds every code.",) if holders else (),
            try_=self._first(self._with_format(holder) for holder in holders),
        )

    def _too_coarse(self, item: Item, engine: Engine, lacking: list[int]) -> None:
        within = self.written.within
        assert within is not None
        count = counted(len(lacking), "code")
        if len(lacking) > _CODES_COUNTED:
            count = f"more than {_CODES_COUNTED} codes"
        shown = [f"code {code} ({code_text(item, code)})" for code in lacking[:_CODES_SHOWN]]
        if len(lacking) > _CODES_SHOWN:
            first = f"The first are {listed(shown)}."
        else:
            first = f"{'They are' if len(shown) > 1 else 'It is'} {listed(shown)}."
        written, or_nearest = self.written, nodes.OrNearest(within.span)
        nearest_do = nodes.Engine(
            written.span,
            written.format,
            written.conversion,
            nodes.Within(within.span, within.tolerance, or_nearest),
        )
        proposals = [self._with_format(form) for form in finer(engine.format)]
        proposals.append((engine_text(nearest_do), nearest_do))
        self._tell(
            ENGINE_TOO_COARSE,
            f"For {count} of {item.codes} of {self.said.owner} no integer of {engine.format.name} is within"
            f" {within.tolerance.amount}.",
            within.tolerance.span,
            because=(first, "With or nearest the correctly rounded integer does there."),
            try_=self._first(proposals),
        )

    # ---- telling

    def _also(self) -> tuple[Mark, ...]:
        node = self.said.get(nodes.Range)
        return (Mark(node.span, "its range"),) if node else ()

    def _tell(
        self,
        rule: Rule,
        sentence: str,
        place: Span,
        also: tuple[Mark, ...] = (),
        because: tuple[str, ...] = (),
        try_: str = "",
    ) -> None:
        self.found.append(Diagnostic(rule, sentence, place, also, because, try_))

    def _with_format(self, form: Format) -> tuple[str, nodes.Engine]:
        word = nodes.Word(self.written.format.span, form.name)
        written = nodes.Engine(self.written.span, word, self.written.conversion, self.written.within)
        return engine_text(written), written

    def _bare(self) -> Iterator[tuple[str, nodes.Engine]]:
        """The code as stored, in the format that is asked for and in others."""
        word = self.written.format
        for name in (word.text, "u8", "u16"):
            written = nodes.Engine(self.written.span, nodes.Word(word.span, name), None, None)
            yield engine_text(written), written

    def _first(self, proposals: Iterable[tuple[str, nodes.Engine]]) -> str:
        return first_that_does(proposals, self.would_do)


def _ends(item: Item) -> tuple[Fraction, ...]:
    """The numbers among which an item's lowest and highest are."""
    if isinstance(item, Param | Trim):
        return item.scale.first, item.scale.last
    if isinstance(item, Selector):
        return tuple(way.number.number for way in item.ways if way.number is not None)
    return (Fraction(0), Fraction(1))
