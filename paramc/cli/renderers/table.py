"""Plain tables for a terminal: columns by blanks, numbers to the right."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.cli.say import plain

_GAP = "  "


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: str) -> list[str]:
    """Lines of a table, indented by two blanks. right: for each column "r" or "l"."""
    cells = [[plain(cell) for cell in row] for row in (head, *rows)]
    widths = [max(len(row[column]) for row in cells) for column in range(len(head))]
    lines = []
    for row in cells:
        padded = (
            cell.rjust(width) if side == "r" else cell.ljust(width)
            for cell, width, side in zip(row, widths, right, strict=True)
        )
        lines.append((_GAP + _GAP.join(padded)).rstrip())
    return lines
