"""Words of the language that this version cannot build yet: one stop for each use."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.statement_rules import NOT_YET
from paramc.check.words import keyword
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Span


def waiting(module: nodes.Module) -> Iterator[Diagnostic]:
    """One stop for each word that waits, outermost first: nothing inside a refused one is told again."""
    left: list[nodes.Node] = [module]
    while left:
        node = left.pop()
        word = _word(node)
        if word is not None:
            sentence = f'This version of paramc cannot build "{word[0]}" yet.'
            yield Diagnostic(NOT_YET, sentence, word[1])
            continue
        names: tuple[str, ...] = node.__match_args__
        inside: list[nodes.Node] = []
        for name in names:
            value = getattr(node, name)
            parts = value if isinstance(value, tuple) else (value,)
            inside.extend(part for part in parts if isinstance(part, nodes.Node))
        left.extend(reversed(inside))


def _word(node: nodes.Node) -> tuple[str, Span] | None:
    """The word that waits in a node, and its place; None where nothing does."""
    match node:
        case nodes.Controls(kind=nodes.Word(text="pedal")):
            return "pedal", node.kind.span
        case nodes.Sets() if node.chooser is not None:
            return "sets ... by", node.span
        case nodes.Sets() if node.pedal_range is not None:
            return "from ... to", node.pedal_range.span
        case _:
            word = _WAITING.get(type(node))
            return None if word is None else (word, _narrow(node))


def _narrow(node: nodes.Node) -> Span:
    """A block is marked at its first word, a statement as a whole."""
    block = isinstance(node, nodes.Tap | nodes.Midi | nodes.Promise | nodes.Borrow)
    return keyword(node) if block else node.span


_WAITING: dict[type[nodes.Node], str] = {
    nodes.Tap: "tap",
    nodes.Midi: "midi",
    nodes.Learned: "learned",
    nodes.Unplugged: "unplugged",
    nodes.DeedLearn: "learn",
    nodes.Promise: "promise",
    nodes.AfterRecall: "after recall",
    nodes.Borrow: "borrow",
}
