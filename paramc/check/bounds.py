"""Numbers in their bounds, quantities in their dimension."""

from __future__ import annotations

from fractions import Fraction

from paramc.check.statement_rules import OUT_OF_BOUNDS, WRONG_UNIT
from paramc.check.words import counted
from paramc.numbers.quantity import decimal_text
from paramc.numbers.units import UNITS, Dimension, Unit
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic


def whole(
    node: nodes.Integer,
    what: str,
    low: int,
    high: int,
    found: list[Diagnostic],
    word: str = "",
    try_: str = "",
) -> int | None:
    """A whole number from low to high, both included; None and a stop where it is not.

    what: "revision of product ...". word: the singular of what is counted: "copy".
    try_: what to write, with {} for the nearest number that is right.
    """
    if low <= node.value <= high:
        return node.value
    if node.hexadecimal:
        shown, ends = node.span.text, f"0x{low:X} to 0x{high:X}"
    else:
        shown, ends = counted(node.value, word), f"{low} to {counted(high, word)}"
    sentence = f"The {what}, {shown}, is outside {ends}."
    near = str(min(max(node.value, low), high))
    found.append(Diagnostic(OUT_OF_BOUNDS, sentence, node.span, try_=try_.replace("{}", near)))
    return None


def measure(
    node: nodes.Quantity, what: str, dimension: Dimension, found: list[Diagnostic]
) -> Fraction | None:
    """A quantity of a dimension, in its base unit; None and a stop where it measures something else."""
    if node.amount.dimension is dimension:
        return node.amount.base
    units = ", ".join(unit.symbol for unit in UNITS if unit.dimension is dimension)
    measures = f"measures {node.amount.dimension.value}" if node.amount.unit.symbol else "is a plain number"
    sentence = f"The {what}, {node.amount}, {measures}, and {dimension.value} belongs here."
    because = (f"Units of {dimension.value}: {units}.",)
    found.append(Diagnostic(WRONG_UNIT, sentence, node.span, because=because))
    return None


def measure_within(
    node: nodes.Quantity,
    what: str,
    low: Fraction,
    high: Fraction,
    unit: Unit,
    found: list[Diagnostic],
) -> Fraction | None:
    """A quantity from low to high (in `unit`), both included, in the base unit of its dimension."""
    base = measure(node, what, unit.dimension, found)
    if base is None or low * unit.factor <= base <= high * unit.factor:
        return base
    ends = f"{decimal_text(low)} {unit.symbol} to {decimal_text(high)} {unit.symbol}"
    found.append(
        Diagnostic(OUT_OF_BOUNDS, f"The {what}, {node.amount}, is outside {ends}.", node.span)
    )
    return None
