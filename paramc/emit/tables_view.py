"""Engine values and knobs as C: functions, tables, and comments that show what they give."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.emit.constants import Constants, CType, Names, code_type, unsigned
from paramc.emit.escape import c_comment, comment_lines, paragraph
from paramc.emit.evaluators import EvaluatorsView, evaluators
from paramc.emit.expressions import Evaluation, evaluation
from paramc.emit.layout_rows import Rows
from paramc.emit.table_wording import engine_table_texts, knob_table_texts
from paramc.emit.wording import QUARTERS, clock_text, engine_text, shown_codes, value_text
from paramc.frozen import dataclass
from paramc.layout.layout import EngineTable, KnobTable, Layout
from paramc.model.panel import Knob
from paramc.tables.costs import routines_of
from paramc.tables.forms import value_at


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
    evaluators: EvaluatorsView
    engines: tuple[EngineView, ...]
    knobs: tuple[KnobView, ...]


def tables_of(layout: Layout, rows: Rows) -> Tables:
    """The engines and knobs of a layout."""
    engines = [_engine(layout, table) for table in layout.engines]
    knobs = [_knob(layout, table, rows) for table in layout.knobs]
    tables = [*(one.table for one in layout.engines), *(one.table for one in layout.knobs)]
    return Tables(
        constants=tuple(one for _, made in (*engines, *knobs) for one in made.constants),
        evaluators=evaluators(routine for table in tables for routine in routines_of(table)),
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
    result = CType(engine.format.signed, engine.format.bits)
    what = c_comment(f"Engine values of {item.label}")
    made = evaluation(table, result, Names(layout.product.prefix, "values", item.name, what, "one a code"))
    shown = [
        f"  {where:>5}  code {code:>5}  {c_comment(value_text(item, code)):<16}  {value_at(table, code)}"
        for where, code in shown_codes(item)
    ]
    head = comment_lines(f"{item.label}: {engine_text(item, engine)}.")
    view = EngineView(
        name=item.name,
        type=engine.format.c_type,
        last=unsigned(item.codes - 1),
        standard=unsigned(item.default),
        value=made.expression,
        comment=block((*head, *shown, *paragraph(engine_table_texts(engine_table, item)))),
    )
    return view, made


def _knob(layout: Layout, knob_table: KnobTable, rows: Rows) -> tuple[KnobView, Evaluation]:
    product, table = layout.product, knob_table.table
    item = product.item(knob_table.item)
    knob = product.control(knob_table.controls[0])
    assert isinstance(knob, Knob) and table.entries == knob.top + 1
    controls = ", ".join(knob_table.controls)
    what = c_comment(f"Codes of {item.label} by {controls}")
    names = Names(product.prefix, "codes", knob_table.name, what, "one a reading")
    made = evaluation(table, CType(False, 16), names)
    shown = [
        f"  {clock_text(travel, knob.turn):>5}  code {code:>5}  {c_comment(value_text(item, code))}"
        for travel in QUARTERS
        for code in (value_at(table, knob.reading_at(travel)),)
    ]
    counts = "1 count" if knob_table.hysteresis == 1 else f"{knob_table.hysteresis} counts"
    head = comment_lines(
        f"{controls} to {item.label}, {knob.adc_bits} bits, the last code stays within {counts}."
    )
    view = KnobView(
        name=knob_table.name,
        type=code_type(item.codes),
        item=unsigned(rows.number(item.name)),
        top=unsigned(knob.top),
        hysteresis=unsigned(knob_table.hysteresis),
        value=made.expression,
        comment=block((*head, *shown, *paragraph(knob_table_texts(knob_table)))),
    )
    return view, made

