"""The statements of one block: each at most once, each where it belongs, the needed ones there."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from typing import TypeVar

from paramc.check.statement_rules import MISPLACED, SAID_TWICE, UNSAID
from paramc.check.words import capital, listed
from paramc.frozen import dataclass
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark
from paramc.text.source import Span

N = TypeVar("N", bound=nodes.Node)

_WORDS: Mapping[type[nodes.Node], str] = {nodes.BrownOut: "brown-out"}


def word_of(kind: type[nodes.Node]) -> str:
    """The keyword of a statement: "hex at" for HexAt."""
    return _WORDS.get(kind) or re.sub(r"(?<!^)(?=[A-Z])", " ", kind.__name__).lower()


@dataclass(frozen=True, slots=True)
class Statements:
    """The statements of one block, the first of each kind.

    owner: what messages call the block: knob "Time". place: where it is named.
    """

    owner: str
    place: Span
    first: Mapping[type[nodes.Node], nodes.Node]

    def get(self, kind: type[N]) -> N | None:
        """The statement of a kind, None where it was not said."""
        node = self.first.get(kind)
        return node if isinstance(node, kind) else None

    def need(self, kind: type[N], try_: str, found: list[Diagnostic]) -> N | None:
        """The same, and a stop where it was not said; try_: what to write."""
        node = self.get(kind)
        if node is None:
            sentence = f"{capital(self.owner)} does not say its {word_of(kind)}."
            found.append(Diagnostic(UNSAID, sentence, self.place, try_=try_))
        return node


def read_statements(
    lines: Iterable[nodes.Node],
    owner: str,
    place: Span,
    found: list[Diagnostic],
    several: Collection[type[nodes.Node]] = (),
) -> Statements:
    """Sorts the lines of a block by kind; those not in `several` may be said once."""
    first: dict[type[nodes.Node], nodes.Node] = {}
    for line in lines:
        before = first.setdefault(type(line), line)
        if before is not line and type(line) not in several:
            found.append(said_twice(f"{capital(owner)} says {word_of(type(line))} twice.", line, before))
    return Statements(owner, place, first)


def said_twice(sentence: str, again: nodes.Node, before: nodes.Node) -> Diagnostic:
    """The stop for a second saying, with both places."""
    also = (Mark(before.span, "said here first"),)
    return Diagnostic(SAID_TWICE, sentence, again.span, also)


def placed(
    lines: Iterable[N],
    belongs: Collection[type[nodes.Node]],
    owner: str,
    where: Mapping[type[nodes.Node], tuple[str, ...]],
    found: list[Diagnostic],
) -> tuple[N, ...]:
    """The lines that belong where they stand, and a stop for each other.

    where: for each statement what it belongs to, for the message.
    """
    kept = []
    for line in lines:
        if type(line) in belongs:
            kept.append(line)
            continue
        word = word_of(type(line))
        sentence = f"{capital(owner)} has no use for {word}; it belongs to {listed(where[type(line)])}."
        found.append(Diagnostic(MISPLACED, sentence, line.span))
    return tuple(kept)
