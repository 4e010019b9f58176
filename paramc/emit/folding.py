"""Folds the lines of comments that a product's names and numbers have made too long."""

from __future__ import annotations

import re
from typing import Final

LIMIT: Final = 110
"""Characters of a line; a word that is longer stands alone in its line."""

_OPENS: Final = re.compile(r"\s*/\*")
_MARKS: Final = re.compile(r"(\s*/\*| \*)?( -)? *\S*")
_GOES_ON: Final = re.compile(r" \* (?=\w)")
_LISTED: Final = " * - "


def folded(text: str) -> str:
    """C whose comments fit the limit: those that stand in lines of their own, not those behind code.

    What a line cannot hold goes into the next one where a sentence goes on there, else into a new one.
    Nothing but blanks and line ends within comments is changed.
    """
    lines: list[str] = []
    inside, left, margin = False, "", ""
    for line in text.split("\n"):
        inside = inside or _OPENS.match(line) is not None
        if left and _GOES_ON.match(line):
            line = f"{margin}{left} {line[3:]}"
        elif left:
            lines.append(f"{margin}{left}")
        margin, left = " *   " if line.startswith(_LISTED) else " * ", ""
        while inside and len(line) > LIMIT and (at := _fold(line)):
            lines.append(line[:at].rstrip())
            line, left = f"{margin}{line[at + 1 :]}", line[at + 1 :]
        if not left or left.endswith((".", "*/")):
            lines.append(line)
            left = ""
        if "*/" in line:
            inside = False
    return "\n".join([*lines, *([f"{margin}{left}"] if left else [])])


def _fold(line: str) -> int:
    """The blank at which a line is folded, 0 where it has none: the mark that ends a comment stays with a
    word."""
    marks = _MARKS.match(line)
    first = 0 if marks is None else marks.end()
    last = len(line.removesuffix(" */"))
    before = line.rfind(" ", first, min(LIMIT + 1, last))
    return max(0, before if before > 0 else line.find(" ", max(first, LIMIT), last))
