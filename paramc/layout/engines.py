"""What the firmware computes from a code: the table of engine values of each item that has an engine."""

from __future__ import annotations

from paramc.layout.layout import EngineTable
from paramc.model.engine import AsStored, Legal
from paramc.model.items import Item, engine_legal, engine_rounded, is_in_use
from paramc.model.product import Product
from paramc.tables.fit import fit


def engine_tables(product: Product) -> tuple[EngineTable, ...]:
    """One for each item with an engine, in reading order."""
    return tuple(
        EngineTable(item.name, fit(engine_values(item))) for item in product.items if item.engine is not None
    )


def engine_values(item: Item) -> tuple[int, ...]:
    """The integer for each code: the correctly rounded one, or the good one nearest to it.

    That there is one that fits the format, the checks have made sure of. A code that is not in use gives
    what the default does.
    """
    return tuple(_engine_value(item, code) for code in range(item.codes))


def _engine_value(item: Item, code: int) -> int:
    engine = item.engine
    assert engine is not None
    if not is_in_use(item, code):
        code = item.default
    if isinstance(engine.conversion, AsStored):
        return code
    value = engine_rounded(item, code)
    if engine.tolerance is not None:
        legal = engine_legal(item, code)
        assert engine.or_nearest or not legal.none, (item.name, code)
        # A good integer that the format does not hold is of no use.
        form = engine.format
        value = Legal(max(legal.lowest, form.minimum), min(legal.highest, form.maximum)).nearest_to(value)
    assert engine.format.holds(value), (item.name, code, value)
    return value
