"""How messages call things: always the kind before the label, lists with an "and"."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.syntax import nodes
from paramc.text.source import Span

_LONGEST_LABEL = 60


def quoted(label: str) -> str:
    """A label in quotes as it stands in a source, cut where it is too long to read in a sentence."""
    if len(label) > _LONGEST_LABEL:
        label = label[: _LONGEST_LABEL - 3] + "..."
    label = label.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{label}"'


def called(kind: str, label: str) -> str:
    """Kind and label: knob "Time", param "Time"."""
    return f"{kind} {quoted(label)}"


def short(text: str) -> str:
    """What was written, cut where it is too long to read in a sentence."""
    return text if len(text) <= _LONGEST_LABEL else text[: _LONGEST_LABEL - 3] + "..."


def listed(words: Iterable[str], joined: str = "and") -> str:
    """"a", "a and b", "a, b and c"."""
    *first, last = words
    return f"{', '.join(first)} {joined} {last}" if first else last


def counted(number: int, word: str) -> str:
    """"1 copy" or "3 copies"; the plural is made by rule. The number alone where nothing is named."""
    if number == 1 or not word:
        return f"{number} {word}".rstrip()
    plural = f"{word[:-1]}ies" if word.endswith("py") else f"{word}s"
    return f"{number} {plural}"


def capital(sentence: str) -> str:
    """With a capital first letter, the rest as it is."""
    return sentence[:1].upper() + sentence[1:]


def keyword(node: nodes.Node) -> Span:
    """The place of the first word of a block or statement."""
    text = node.span.text
    end = next((at for at, char in enumerate(text) if not (char.isalnum() or char in "_-")), len(text))
    return Span(node.span.source, node.span.start, node.span.start + max(end, 1))
