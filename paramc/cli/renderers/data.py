"""Diagnostics as plain data for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from paramc.text.diagnostic import Diagnostic, Severity
from paramc.text.source import Span

FORMAT = 1


def as_data(files: Sequence[str], diagnostics: Sequence[Diagnostic]) -> dict[str, Any]:
    """The answer of check as JSON would have it. Lines and columns count from 1, in code points;
    end_column is one past the last."""
    stops = sum(found.severity is Severity.STOP for found in diagnostics)
    return {
        "format": FORMAT,
        "files": list(files),
        "stops": stops,
        "mends": len(diagnostics) - stops,
        "diagnostics": [_one(found) for found in diagnostics],
    }


def _one(found: Diagnostic) -> dict[str, Any]:
    return {
        "rule": found.rule.name,
        "severity": found.severity.value,
        "sentence": found.sentence,
        "place": place(found.place),
        "also": [{"place": place(mark.span), "label": mark.label} for mark in found.also],
        "because": list(found.because),
        "try": found.try_,
        "subject": found.subject,
    }


def place(span: Span | None) -> dict[str, Any] | None:
    """A place as data, or None."""
    if span is None:
        return None
    return {
        "file": span.source.name,
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }
