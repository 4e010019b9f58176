"""Reading the pages of this repository: their fenced blocks, their tables, their code spans."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class Fence:
    """A fenced block. info: the words behind its opening marks. line: of these marks, from 1. heading: the
    nearest one above it."""

    info: str
    text: str
    line: int
    heading: str


def page(name: str) -> str:
    """The text of a page, by its path from the top of the repository."""
    return (TOP / name).read_text(encoding="utf-8")


def fences(text: str) -> Iterator[Fence]:
    """The fenced blocks of a page, in reading order."""
    heading, start, info = "", 0, ""
    body: list[str] | None = None
    for number, line in enumerate(text.splitlines(), 1):
        if body is not None:
            if line == "```":
                yield Fence(info, "".join(f"{one}\n" for one in body), start, heading)
                body = None
            else:
                body.append(line)
        elif line.startswith("```"):
            start, info, body = number, line[3:].strip(), []
        elif line.startswith("#"):
            heading = line.lstrip("# ")
    assert body is None, f"the block that opens on line {start} is never closed"


def prose(text: str) -> str:
    """A page without its fenced blocks."""
    return re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)


def tables(text: str) -> Iterator[list[dict[str, str]]]:
    """The tables of a page: each its rows, each row its cells by column."""
    lines = iter(prose(text).splitlines())
    for line in lines:
        if not line.startswith("|"):
            continue
        head = _cells(line)
        assert set("".join(_cells(next(lines)))) <= set("-:"), line
        rows = []
        for row in lines:
            if not row.startswith("|"):
                break
            cells = _cells(row)
            assert len(cells) == len(head), row
            rows.append(dict(zip(head, cells, strict=True)))
        yield rows


def table(text: str, *columns: str) -> list[dict[str, str]]:
    """The one table whose first columns are these."""
    [found] = [rows for rows in tables(text) if tuple(rows[0])[: len(columns)] == columns]
    return found


def spans(text: str) -> list[str]:
    """The code spans of a stretch of text."""
    return re.findall(r"`([^`]+)`", text)


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.strip("|").split("|")]
