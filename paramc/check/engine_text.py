"""Engine statements as a source can say them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from paramc.check.expressions import expression_text
from paramc.syntax import nodes


def engine_text(written: nodes.Engine) -> str:
    """An engine statement as a source can say it."""
    return " ".join(_words(written))


def conversion_words(node: nodes.Conversion) -> str:
    """The first words of a conversion."""
    match node:
        case nodes.WhereOne():
            return "where 1 is"
        case nodes.AsGain():
            return "as gain"
        case nodes.AsSamples():
            return "as samples"
        case nodes.AsPhase():
            return "as phase"
        case nodes.AsPole():
            return "as pole"
        case nodes.AsPitch():
            return "as pitch"
        case nodes.AsDecay():
            return "as decay"
        case nodes.ByExpression():
            return "is"
        case other:
            assert_never(other)


def _words(written: nodes.Engine) -> Iterator[str]:
    yield f"engine {written.format.text}"
    match written.conversion:
        case None:
            pass
        case nodes.WhereOne(one=one, value=value):
            yield f"where {one.value} is {value.amount}"
        case nodes.AsGain() | nodes.AsPitch() as node:
            yield conversion_words(node)
        case nodes.AsSamples() | nodes.AsPhase() | nodes.AsPole() | nodes.AsDecay() as node:
            yield f"{conversion_words(node)} at {node.rate.amount}"
        case nodes.ByExpression(expression=expression):
            yield f"is {expression_text(expression)}"
        case other:
            assert_never(other)
    if written.within is not None:
        yield f"within {written.within.tolerance.amount}"
        if written.within.or_nearest is not None:
            yield "or nearest"
