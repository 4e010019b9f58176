"""Diagnostics a line each, in the form that editors and build tools jump from."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.cli.say import plain
from paramc.text.diagnostic import Diagnostic


def render(diagnostics: Iterable[Diagnostic]) -> str:
    """file:line:column: severity rule: sentence; a diagnostic without place has no numbers."""
    return "".join(_one(found) for found in diagnostics)


def _one(found: Diagnostic) -> str:
    place = found.place
    where = "" if place is None else f"{plain(place.source.name)}:{place.line}:{place.column}: "
    try_ = f" Try: {plain(found.try_)}" if found.try_ else ""
    return f"{where}{found.severity.value} {found.rule.name}: {plain(found.sentence)}{try_}\n"
