"""Diagnostics as SARIF 2.1.0 (OASIS Standard, 27 March 2020, with errata 01)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from paramc.text.diagnostic import Diagnostic, Rule, Severity, has_stop
from paramc.text.source import Span

_LEVEL = {Severity.STOP: "error", Severity.MEND: "warning"}


def as_sarif(rules: Sequence[Rule], diagnostics: Sequence[Diagnostic], version: str) -> dict[str, Any]:
    """A log with one run. rules: the whole catalogue, so that ruleIndex means the same in every log."""
    index = {rule.name: number for number, rule in enumerate(rules)}
    return {
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "paramc",
                        "semanticVersion": version,
                        "rules": [_rule(rule) for rule in rules],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "invocations": [
                    {
                        "executionSuccessful": True,
                        "exitCode": 1 if has_stop(diagnostics) else 0,
                    }
                ],
                "results": [_result(found, index[found.rule.name]) for found in diagnostics],
            }
        ],
    }


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        "id": rule.name,
        "fullDescription": {"text": rule.explanation},
        "defaultConfiguration": {"level": _LEVEL[rule.severity]},
    }


def _result(found: Diagnostic, rule_index: int) -> dict[str, Any]:
    text = " ".join((found.sentence, *found.because))
    if found.try_:
        text += f" Try: {found.try_}"
    result: dict[str, Any] = {
        "ruleId": found.rule.name,
        "ruleIndex": rule_index,
        "level": _LEVEL[found.severity],
        "message": {"text": text},
    }
    if found.place is not None:
        result["locations"] = [_location(found.place, "")]
    if found.also:
        result["relatedLocations"] = [_location(mark.span, mark.label) for mark in found.also]
    return result


def _location(span: Span, label: str) -> dict[str, Any]:
    location: dict[str, Any] = {
        "physicalLocation": {
            # A relative reference keeps the reader's own base; percent signs keep it a URI.
            "artifactLocation": {"uri": quote(span.source.name.replace("\\", "/"))},
            "region": {
                "startLine": span.line,
                "startColumn": span.column,
                "endLine": span.end_line,
                "endColumn": span.end_column,
            },
        }
    }
    if label:
        location["message"] = {"text": label}
    return location
