"""Accepted mends: read from the file, and taken away from what was found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import assert_never

from paramc.check.accept_rules import (
    ACCEPT_MEETS_NOTHING,
    ACCEPT_STOP,
    ACCEPT_UNKNOWN,
    ACCEPT_WITHOUT_REASON,
)
from paramc.check.nearest import Nearest
from paramc.check.statements import said_twice
from paramc.check.words import short
from paramc.model.product import Accept
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Rule, Severity, has_stop


def read_accepts(blocks: Iterable[nodes.Accept], found: list[Diagnostic]) -> tuple[Accept, ...]:
    """The accepts in reading order."""
    first: dict[tuple[str, str], nodes.Accept] = {}
    accepts = []
    for block in blocks:
        rule, subject = block.rule.text, _subject(block.subject)
        before = first.setdefault((rule, subject), block)
        if before is not block:
            found.append(said_twice(f"Rule {short(rule)} is accepted twice.", block, before))
            continue
        if not block.reason.value.strip():
            sentence = f"Rule {short(rule)} is accepted without a reason."
            found.append(Diagnostic(ACCEPT_WITHOUT_REASON, sentence, block.reason.span))
        accepts.append(Accept(rule, subject, block.reason.value, block.rule.span))
    return tuple(accepts)


def _subject(node: nodes.Name | nodes.Control | nodes.AcceptMode | nodes.AcceptPreset | None) -> str:
    """What an accept is for, as diagnostics say it in `subject`; "" for everything."""
    match node:
        case None:
            return ""
        case nodes.Name(text=text) | nodes.Control(text=text):
            return text
        case nodes.AcceptMode(name=name):
            return f"mode {name.text}"
        case nodes.AcceptPreset(number=number):
            return f"preset {number.value}"
        case other:
            assert_never(other)


def apply_accepts(
    accepts: Sequence[Accept],
    diagnostics: Sequence[Diagnostic],
    catalogue: tuple[Rule, ...],
    elsewhere: frozenset[str] = frozenset(),
) -> tuple[Diagnostic, ...]:
    """The diagnostics without accepted mends, and behind them what is wrong with the accepts.

    catalogue: every rule there is. elsewhere: names of rules that a product alone cannot meet, whose accepts
    are not asked what they meet. An accept without a subject meets its rule everywhere. Whether
    one meets nothing is not asked where there is a stop, because a stop keeps mends from being found.
    """
    severities = {rule.name: rule.severity for rule in catalogue}
    near = Nearest(severities)
    asked = not has_stop(diagnostics)
    accepted = {(accept.rule, accept.subject) for accept in accepts}
    met: set[tuple[str, str]] = set()
    left = []
    for found in diagnostics:
        meets = {(found.rule.name, ""), (found.rule.name, found.subject)} & accepted
        if meets and found.severity is Severity.MEND:
            met |= meets
        else:
            left.append(found)
    for accept in accepts:
        mistake = _mistake(accept, severities, near)
        settled = (accept.rule, accept.subject) in met or accept.rule in elsewhere
        if mistake is None and asked and not settled:
            where = f" for {short(accept.subject)}" if accept.subject else ""
            sentence = f"Rule {accept.rule} is accepted{where}, and there is nothing to accept."
            try_ = "take this accept out"
            subject = accept.subject
            mistake = Diagnostic(ACCEPT_MEETS_NOTHING, sentence, accept.place, try_=try_, subject=subject)
        if mistake is not None:
            left.append(mistake)
    return tuple(left)


def _mistake(accept: Accept, severities: dict[str, Severity], near: Nearest) -> Diagnostic | None:
    """What is wrong with an accept by itself."""
    severity = severities.get(accept.rule)
    if severity is None:
        sentence = f"There is no rule {short(accept.rule)} to accept."
        return Diagnostic(ACCEPT_UNKNOWN, sentence, accept.place, try_=near.to(accept.rule) or "")
    if severity is Severity.STOP:
        sentence = f"Rule {accept.rule} is a stop, and only mends can be accepted."
        return Diagnostic(ACCEPT_STOP, sentence, accept.place)
    return None
