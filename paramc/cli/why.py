"""`paramc why`: a rule explained."""

from __future__ import annotations

import difflib
import textwrap
from typing import Any

from paramc.catalogue import RULES
from paramc.cli import say
from paramc.text.diagnostic import Rule, Severity

_MEANING = {
    Severity.STOP: "A stop: nothing comes out while it stands.",
    Severity.MEND: "A mend: outputs come, but a release needs it mended, or accepted with a reason.",
}


def run(name: str | None, as_json: bool) -> int:
    """Exit status: 0, or 1 where no rule has that name."""
    if name is None:
        return _list(as_json)
    rule = next((rule for rule in RULES if rule.name == name), None)
    if rule is None:
        say.person(f"There is no rule {say.plain(name)}.")
        near = difflib.get_close_matches(name, [rule.name for rule in RULES], 3)
        if near:
            say.person(f"  Near: {', '.join(near)}")
        say.person("  All of them: paramc why --list")
        return 1
    if as_json:
        say.data(_data(rule))
        return 0
    say.out(f"{rule.severity.name} {rule.name}", "")
    say.out(*textwrap.wrap(rule.explanation, 88, initial_indent="  ", subsequent_indent="  "))
    say.out(f"  {_MEANING[rule.severity]}")
    for text in rule.before:
        say.out("", "  Released before:", "", *_code(text))
    for beside, text in rule.beside:
        say.out("", f"  Beside both, in {beside}:", "", *_code(text))
    for along, text in rule.along:
        say.out("", f"  Checked together with either, {along}:", "", *_code(text))
    say.out("", "  Wrong:", "", *_code(rule.wrong), "", "  Right:", "", *_code(rule.right))
    if rule.severity is Severity.MEND:
        say.out("", f'  Accepted: accept {rule.name} because "the reason"')
    return 0


def _list(as_json: bool) -> int:
    if as_json:
        say.data([_data(rule) for rule in RULES])
    else:
        width = max(len(rule.name) for rule in RULES)
        say.out(*(f"{rule.name:<{width}}  {rule.severity.value}" for rule in RULES))
    return 0


def _data(rule: Rule) -> dict[str, Any]:
    return {
        "rule": rule.name,
        "severity": rule.severity.value,
        "explanation": rule.explanation,
        "wrong": rule.wrong,
        "right": rule.right,
        "before": list(rule.before),
        "beside": [{"name": name, "text": text} for name, text in rule.beside],
        "along": [{"name": name, "text": text} for name, text in rule.along],
    }


def _code(text: str) -> list[str]:
    return [f"    {line}" for line in text.rstrip("\n").split("\n")]
