"""The page of all rules, made from the rules themselves."""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterator, Sequence

from paramc.text.diagnostic import Rule, Severity

WIDTH = 110

_HEAD = """\
# The rules

Every rule by name, with what it means and a file that breaks it beside one that does not: of both, the lines
in which they differ, the wrong ones with a minus and the right ones with a plus. `paramc why RULE` shows both
whole. A **stop** lets nothing out. A **mend** lets everything out but a release, which wants it mended, or
accepted with a reason.

This page is made from the rules by `python -m pytest tests/unit/test_rules_page.py --update`.
"""

_NOUN = {Severity.STOP: "stop", Severity.MEND: "mend"}


def rules_page(rules: Sequence[Rule]) -> str:
    """The page, a section a rule, in the order of the alphabet."""
    ordered = sorted(rules, key=lambda rule: rule.name)
    mends = sum(rule.severity is Severity.MEND for rule in rules)
    count = f"{len(rules)} rules: {len(rules) - mends} stops and {mends} mends."
    return "\n".join([_HEAD, count, *(line for rule in ordered for line in _section(rule))]) + "\n"


def _section(rule: Rule) -> Iterator[str]:
    yield from ("", f"## {rule.name}", "")
    meaning = f"A **{_NOUN[rule.severity]}**. {rule.explanation}"
    yield from textwrap.wrap(meaning, WIDTH, break_on_hyphens=False)
    if rule.before:
        yield from ("", "Both follow a release of an earlier state of the file.")
    if rule.beside:
        yield from ("", f"Both have {' and '.join(f'`{name}`' for name, _ in rule.beside)} beside them.")
    yield from ("", "```diff", *_difference(rule.wrong, rule.right), "```")


def _difference(wrong: str, right: str) -> list[str]:
    """Only the lines that differ; runs of them are kept apart by dots."""
    lines = list(difflib.unified_diff(wrong.splitlines(), right.splitlines(), lineterm="", n=0))[2:]
    return ["..." if line.startswith("@@") else _visible(line) for line in lines if line != lines[0]]


def _visible(line: str) -> str:
    """A line as the page can hold it: what is not printable as its number, and fences in one piece."""
    shown = "".join(one if one.isprintable() else f"<U+{ord(one):04X}>" for one in line)
    return shown.rstrip()
