"""Statements that a message proposes, each tried out before it is said."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeAlias

from paramc.syntax import nodes

WouldDo: TypeAlias = Callable[[nodes.ItemLine], bool] | None
"""Whether the item has no stop when this statement stands in place of the one of its kind. None while
a statement is tried out in that way, when nothing else is proposed."""


def first_that_does(proposals: Iterable[tuple[str, nodes.ItemLine]], would_do: WouldDo) -> str:
    """The text of the first statement that would do; none is looked for while one is tried out."""
    if would_do is None:
        return ""
    return next((text for text, line in proposals if would_do(line)), "")
