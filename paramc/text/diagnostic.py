"""What is said about a source: rules, diagnostics, and values that come with them."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import Generic, TypeVar

from paramc.frozen import dataclass
from paramc.text.source import Span

T = TypeVar("T")


class Severity(Enum):
    """stop: nothing comes out. mend: outputs come, but a release needs it mended or accepted."""

    STOP = "stop"
    MEND = "mend"


@dataclass(frozen=True, slots=True)
class Rule:
    """A named rule.

    name: hyphenated words, never used again for another meaning.
    explanation: whole sentences for `paramc why`.
    wrong: a product text that yields the rule; right: one that does not. before: what was released
    before both, the oldest first; none for a rule that asks for no releases. beside: files that lie beside
    both, by name and text; none for a rule that asks for no borrowed ones. along: products that are checked
    together with either, by file name and text; none for a rule about one product.
    """

    name: str
    severity: Severity
    explanation: str
    wrong: str
    right: str
    before: tuple[str, ...] = ()
    beside: tuple[tuple[str, str], ...] = ()
    along: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Mark:
    """A further place that takes part in a mistake, with a few words on what it is."""

    span: Span
    label: str = ""


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One mistake.

    sentence: what is wrong, as one whole sentence.
    place: where; None where a mistake has no place (a file that is missing).
    also: other places that make it wrong. because: facts, a sentence each.
    try_: what to do; text that could stand in the source, or a sentence.
    subject: what `accept RULE for ...` names: an item, a control, "mode deep", "preset 2".
    """

    rule: Rule
    sentence: str
    place: Span | None = None
    also: tuple[Mark, ...] = ()
    because: tuple[str, ...] = ()
    try_: str = ""
    subject: str = ""

    @property
    def severity(self) -> Severity:
        """The severity of its rule."""
        return self.rule.severity


@dataclass(frozen=True, slots=True)
class Checked(Generic[T]):
    """A stage's answer: the value, or None where a stop kept it from being made."""

    value: T | None
    diagnostics: tuple[Diagnostic, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether anything keeps outputs from being made."""
        return self.value is None or has_stop(self.diagnostics)


def has_stop(diagnostics: Iterable[Diagnostic]) -> bool:
    """Whether one of them is a stop."""
    return any(found.severity is Severity.STOP for found in diagnostics)


def in_reading_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Sorted by place; those without one come first. The order of equals is kept."""

    def key(found: Diagnostic) -> tuple[str, int]:
        place = found.place
        return ("", -1) if place is None else (place.source.name, place.start)

    return tuple(sorted(diagnostics, key=key))
