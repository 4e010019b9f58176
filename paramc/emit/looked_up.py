"""Integers by a number from 0 on, as an expression in C and the constants that it reads."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.emit.constants import CType, Names
from paramc.emit.expressions import Evaluation, evaluation
from paramc.tables.fit import fit

NUMBER = CType(False, 16)
"""What such an expression is: a uint16_t."""


def looked_up(values: Sequence[int], prefix: str, name: str, comment: str) -> Evaluation:
    """values[k] for a uint16_t k below their number; all are below 2^16. name: without the prefix; comment:
    fit for one."""
    stem, _, of = name.partition("_")
    return evaluation(fit(values), NUMBER, Names(prefix, stem, of, comment, f"from 0 to {len(values) - 1}"))
