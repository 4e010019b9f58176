"""The tables of a product: all fitted together, since the functions that evaluate them are shared."""

from __future__ import annotations

from fractions import Fraction

from paramc.layout.accuracy import worst_code, worst_value
from paramc.layout.engines import engine_wanted
from paramc.layout.knobs import codes_along, knob_wanted, set_by_knobs
from paramc.layout.layout import EngineTable, KnobTable, Proof
from paramc.model.product import Product
from paramc.tables.choose import Choice, Known, choose_together
from paramc.tables.costs import DIVIDE, MULTIPLY, Family

FAMILY = Family.AVR
"""The processors whose costs decide: where flash is short. Others have more of it, and rank forms alike."""


def fitted_tables(
    product: Product, known: Known | None = None
) -> tuple[tuple[EngineTable, ...], tuple[KnobTable, ...]]:
    """A table for each item with an engine, in reading order; then one for each item that knobs set, and one
    more for each further knob that is read otherwise.

    They take the fewest bytes of flash together, those that prefer speed the fewest cycles. known:
    what was fitted before; nothing in it is fitted again.
    """
    items = [item for item in product.items if item.engine is not None]
    read = [
        (item, knobs, f"{item.name}_by_{knobs[0].name}" if at else item.name)
        for item, groups in set_by_knobs(product)
        for at, knobs in enumerate(groups)
    ]
    codes = [codes_along(item, knobs[0]) for item, knobs, _ in read]
    asked = [engine_wanted(item) for item in items]
    wanted = [one.wanted for one in asked]
    wanted += [knob_wanted(item, knobs[0], at) for (item, knobs, _), at in zip(read, codes, strict=True)]
    # What brings a reading between its ends multiplies and divides in 32 bits anyway.
    paid = frozenset({MULTIPLY, DIVIDE} if read else ())
    chosen = choose_together(wanted, family=FAMILY, paid=paid, known=known)
    engines = [
        EngineTable(item.name, choice.table, _proof(choice, *worst_value(item, choice.table), one.without))
        for item, one, choice in zip(items, asked, chosen, strict=False)
    ]
    knob_tables = [
        KnobTable(
            name=name,
            item=item.name,
            controls=tuple(knob.name for knob in knobs),
            adc_bits=knobs[0].adc_bits,
            hysteresis=knobs[0].noise + 1,
            table=choice.table,
            proof=_proof(choice, *worst_code(at, choice.table), ()),
        )
        for (item, knobs, name), at, choice in zip(read, codes, chosen[len(items) :], strict=True)
    ]
    return tuple(engines), tuple(knob_tables)


def _proof(choice: Choice, worst: Fraction, at: int, without: tuple[int, ...]) -> Proof:
    return Proof(choice.certificate.pieces, worst, at, without, choice.costs)
