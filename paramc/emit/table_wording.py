"""What a table is, how near it comes, and what others would cost, as sentences for the comments of the C."""

from __future__ import annotations

from itertools import islice

from paramc.layout.layout import EngineTable, KnobTable, Proof
from paramc.model.items import Item
from paramc.numbers.quantity import decimal_text
from paramc.tables.choose import FormCost
from paramc.tables.forms import AnyTable, Form, data_bytes, form_of, stored_in

_CODES_SHOWN = 12


def engine_table_texts(table: EngineTable, item: Item) -> tuple[str, ...]:
    """Of a table of engine values, which may be off by what the item's tolerance allows."""
    proof, engine = table.proof, item.engine
    assert engine is not None
    if proof.worst == 0:
        error = "Every value is exact."
    elif engine.tolerance is None:
        error = "Every value is the nearest integer."
    else:
        error = f"Worst error: {decimal_text(proof.worst)} of the tolerance, at code {proof.worst_at}."
    return (f"{_form_text(table.table)} {error}", *_without(proof), *_measure(table.table, proof))


def knob_table_texts(table: KnobTable) -> tuple[str, ...]:
    """Of a table of a knob, which may be off by a reading."""
    proof = table.proof
    if proof.worst == 0:
        error = "Exact at every reading."
    else:
        codes = "1 code" if proof.worst == 1 else f"{proof.worst} codes"
        error = f"At most {codes} from the exact one, first at reading {proof.worst_at}."
    return (f"{_form_text(table.table)} {error}", *_measure(table.table, proof))


def _form_text(table: AnyTable) -> str:
    form, (count, word) = form_of(table), stored_in(table)
    if form is Form.LINEAR:
        return "A linear rule, no table."
    return f"{form.value.capitalize()}: {count} {word}, {data_bytes(table)} bytes."


def _without(proof: Proof) -> tuple[str, ...]:
    if not proof.without:
        return ()
    listed = ", ".join(map(str, islice(proof.without, _CODES_SHOWN)))
    more = "" if len(proof.without) <= _CODES_SHOWN else f" and {len(proof.without) - _CODES_SHOWN} more"
    return (f"No integer keeps the tolerance at code {listed}{more}: there it is the nearest.",)


def _measure(table: AnyTable, proof: Proof) -> tuple[str, ...]:
    pieces = f"Straight pieces needed at least: {proof.pieces}."
    form = form_of(table)
    others = [_cost_text(cost) for cost in proof.costs if cost.form is not form]
    if form is Form.LINEAR or not others:
        return (pieces,)
    mine = [_cost_text(cost) for cost in proof.costs if cost.form is form]
    return (pieces, f"Alone on AVR, flash and mean time: {'; '.join(mine)}. Others: {'; '.join(others)}.")


def _cost_text(cost: FormCost) -> str:
    least = "at least " if cost.at_least else ""
    return f"{cost.form.value} {least}{cost.flash} bytes, {cost.cycles} cycles"
