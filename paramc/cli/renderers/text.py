"""Diagnostics for people: whole sentences, the fault marked in its own line, nothing below it."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.cli.say import plain
from paramc.text.diagnostic import Diagnostic, Mark, Severity
from paramc.text.source import Span

_LONGEST_LINE = 100
_AROUND = 30


def render(diagnostics: Iterable[Diagnostic]) -> str:
    """All of them, a blank line between two, each line ended; "" for none."""
    return "\n".join(one(found) for found in diagnostics)


def one(found: Diagnostic) -> str:
    """One diagnostic."""
    lines = [f"{found.severity.name} {found.rule.name}{_where(found.place)}"]
    lines.append(f"  {plain(found.sentence)}")
    marks = ([Mark(found.place)] if found.place else []) + list(found.also)
    home = found.place.source if found.place else None
    width = max((len(str(mark.span.line)) for mark in marks), default=0)
    for mark in marks:
        label = f"   {plain(mark.label)}" if mark.label else ""
        other = "" if mark.span.source is home else f"   in {plain(mark.span.source.name)}"
        lines.append(f"  {mark.span.line:>{width}}   {_marked(mark.span)}{label}{other}")
    lines.extend(f"  {plain(fact)}" for fact in found.because)
    if found.try_:
        lines.append(f"  Try: {plain(found.try_)}")
    return "\n".join(lines) + "\n"


def closing(diagnostics: tuple[Diagnostic, ...], files: int) -> str:
    """One line that counts what was found."""
    stops = sum(found.severity is Severity.STOP for found in diagnostics)
    mends = len(diagnostics) - stops
    what = "1 file" if files == 1 else f"{files} files"
    if not diagnostics:
        return f"Nothing to stop or mend in {what}."
    return f"{_count(stops, 'stop')} and {_count(mends, 'mend')} in {what}."


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _where(place: Span | None) -> str:
    if place is None:
        return ""
    return f", in {plain(place.source.name)}, line {place.line}, column {place.column}"


def _marked(span: Span) -> str:
    """The span's first line with the marked part between >> and <<, cut to a readable length."""
    text = span.source.line_text(span.line)
    start = span.column - 1
    end = span.end_column - 1 if span.end_line == span.line else len(text)
    before, inside, after = text[:start].lstrip(), text[start:end], text[end:].rstrip()
    if len(before) + len(inside) + len(after) > _LONGEST_LINE:
        before = "..." + before[-_AROUND:] if len(before) > _AROUND + 3 else before
        after = after[:_AROUND] + "..." if len(after) > _AROUND + 3 else after
        room = _LONGEST_LINE - _AROUND
        inside = inside[: room // 2] + " ... " + inside[-room // 2 :] if len(inside) > room + 5 else inside
    head = plain(before).rstrip()
    tail = plain(after).strip()
    return " ".join(part for part in (head, f">> {plain(inside)} <<", tail) if part)
