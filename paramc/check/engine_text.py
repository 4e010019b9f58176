"""Engine statements as a source can say them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias, assert_never

from paramc.syntax import nodes

Converts: TypeAlias = nodes.WhereOne | nodes.AsGain | nodes.AsSamples | nodes.AsPhase
"""The conversions that are built today."""


def engine_text(written: nodes.Engine) -> str:
    """An engine statement as a source can say it."""
    return " ".join(_words(written))


def conversion_words(node: Converts) -> str:
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
        case other:
            assert_never(other)


def _words(written: nodes.Engine) -> Iterator[str]:
    yield f"engine {written.format.text}"
    match written.conversion:
        case nodes.WhereOne(one=one, value=value):
            yield f"where {one.value} is {value.amount}"
        case nodes.AsGain():
            yield "as gain"
        case nodes.AsSamples(rate=rate):
            yield f"as samples at {rate.amount}"
        case nodes.AsPhase(rate=rate):
            yield f"as phase at {rate.amount}"
        case None:
            pass
        case other:
            # The others are never proposed, because they are not built yet.
            yield other.span.text
    if written.within is not None:
        yield f"within {written.within.tolerance.amount}"
        if written.within.or_nearest is not None:
            yield "or nearest"
