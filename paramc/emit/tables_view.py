"""Engine values and knobs as C: functions, tables, and comments that show what they give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from paramc.emit.escape import c_comment, comment_lines
from paramc.emit.expressions import Constants, CType, Evaluation, code_type, evaluation, unsigned
from paramc.emit.layout_rows import Rows
from paramc.emit.wording import QUARTERS, clock_text, engine_text, shown_codes, value_text
from paramc.layout.knobs import codes_along
from paramc.layout.layout import EngineTable, KnobTable, Layout
from paramc.model.items import Item, engine_exact
from paramc.model.panel import Knob
from paramc.numbers.doubles import Near
from paramc.numbers.irrational import near_of
from paramc.numbers.real import Real, compare, negate, subtract, to_text
from paramc.tables.table import Table, evaluate, flash_bytes


@dataclass(frozen=True, slots=True)
class EngineView:
    """P_engine_name. comment: its lines, marks included."""

    name: str
    type: str
    last: str
    standard: str
    value: str
    comment: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KnobView:
    """P_knob_name. item: the item's number."""

    name: str
    type: str
    item: str
    top: str
    hysteresis: str
    value: str
    comment: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tables:
    """All that is computed from codes and readings."""

    constants: tuple[Constants, ...]
    engines: tuple[EngineView, ...]
    knobs: tuple[KnobView, ...]


def tables_of(layout: Layout, rows: Rows) -> Tables:
    """The engines and knobs of a layout."""
    engines = [_engine(layout, table) for table in layout.engines]
    knobs = [_knob(layout, table, rows) for table in layout.knobs]
    return Tables(
        constants=tuple(one for _, made in (*engines, *knobs) for one in made.constants),
        engines=tuple(view for view, _ in engines),
        knobs=tuple(view for view, _ in knobs),
    )


def block(lines: Sequence[str]) -> tuple[str, ...]:
    """Lines that are fit for a comment, as one."""
    if len(lines) == 1:
        return (f"/* {lines[0]} */",)
    middle = tuple(f" * {line}" for line in lines[1:-1])
    return (f"/* {lines[0]}", *middle, f" * {lines[-1]} */")


def _engine(layout: Layout, engine_table: EngineTable) -> tuple[EngineView, Evaluation]:
    item, table = layout.product.item(engine_table.item), engine_table.table
    engine = item.engine
    assert engine is not None and table.entries == item.codes
    prefix = layout.product.prefix
    made = evaluation(
        table,
        CType(engine.format.signed, engine.format.bits),
        prefix,
        f"{prefix}_values_{item.name}",
        c_comment(f"Engine values of {item.label}, one a code."),
    )
    shown = [
        f"  {where:>5}  code {code:>5}  {c_comment(value_text(item, code)):<16}  {evaluate(table, code)}"
        for where, code in shown_codes(item)
    ]
    head = comment_lines(f"{item.label}: {engine_text(item, engine)}.")
    tail = comment_lines(f"{_form_text(table)} {_worst_text(item, table)}")
    view = EngineView(
        name=item.name,
        type=engine.format.c_type,
        last=unsigned(item.codes - 1),
        standard=unsigned(item.default),
        value=made.expression,
        comment=block((*head, *shown, *tail)),
    )
    return view, made


def _knob(layout: Layout, knob_table: KnobTable, rows: Rows) -> tuple[KnobView, Evaluation]:
    product, table = layout.product, knob_table.table
    item = product.item(knob_table.item)
    knob = product.control(knob_table.controls[0])
    assert isinstance(knob, Knob) and table.entries == knob.top + 1
    made = evaluation(
        table,
        CType(False, 16),
        product.prefix,
        f"{product.prefix}_codes_{knob_table.name}",
        c_comment(f"Codes of {item.label}, one a reading of {', '.join(knob_table.controls)}."),
    )
    readings = [knob.noon if travel == Fraction(1, 2) else round(knob.top * travel) for travel in QUARTERS]
    shown = [
        f"  {clock_text(travel, knob.turn):>5}  code {code:>5}  {c_comment(value_text(item, code))}"
        for travel, reading in zip(QUARTERS, readings, strict=True)
        for code in (evaluate(table, reading),)
    ]
    wrong = max(
        abs(evaluate(table, n) - code) for n, code in enumerate(codes_along(item, knob))
    )
    exact = "Exact at every reading." if wrong == 0 else f"At most {wrong} codes from the exact one."
    head = comment_lines(
        f"{', '.join(knob_table.controls)} to {item.label}, {knob.adc_bits} bits, the last code stays within"
        f" {knob_table.hysteresis} counts."
    )
    view = KnobView(
        name=knob_table.name,
        type=code_type(item.codes),
        item=unsigned(rows.number(item.name)),
        top=unsigned(knob.top),
        hysteresis=unsigned(knob_table.hysteresis),
        value=made.expression,
        comment=block((*head, *shown, *comment_lines(f"{_form_text(table)} {exact}"))),
    )
    return view, made


def _form_text(table: Table) -> str:
    size = flash_bytes(table)
    return f"A table of {size} bytes." if size else "A linear rule, no table."


def _worst_text(item: Item, table: Table) -> str:
    """By how much the worst code's integer differs from the exact number, and which code it is."""
    worst: Real = Fraction(0)
    code = 0
    for candidate in _near_worst(item, table):
        error = _error(item, table, candidate)
        if compare(error, worst) > 0:
            worst, code = error, candidate
    if worst == 0:
        return "Every value is exact."
    return f"Furthest from the exact number: {to_text(worst, 3)} at code {code}."


def _error(item: Item, table: Table, code: int) -> Real:
    difference = subtract(engine_exact(item, code), Fraction(evaluate(table, code)))
    return negate(difference) if compare(difference, Fraction(0)) < 0 else difference


def _near_worst(item: Item, table: Table) -> list[int]:
    """The codes whose error may be the greatest, as far as doubles that know their error can tell."""
    nears = [_near_error(item, table, code) for code in range(table.entries)]
    surest = max((value - error for value, error in nears if error < 1), default=0.0)
    return [code for code, (value, error) in enumerate(nears) if not value + error < surest]


def _near_error(item: Item, table: Table, code: int) -> Near:
    value, error = near_of(engine_exact(item, code))
    # Both numbers are below 2^33 and the subtraction's own rounding is below 2^-19 of one.
    return abs(value - evaluate(table, code)), error + 2.0**-19
