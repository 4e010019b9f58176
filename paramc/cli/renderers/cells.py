"""Cells of a CSV file that spreadsheets open without harm."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from typing import Final

from paramc.cli.say import plain

_FORMULA: Final = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What formulas begin with; spreadsheets of some countries read the wide forms like the plain ones."""

_NUMBER: Final = re.compile(r"-?[0-9]+(\.[0-9]+)?")


def cell(text: str) -> str:
    """A text as it may stand in a cell: one that a spreadsheet would run as a formula begins with an
    apostrophe, by which it takes it for text; what cannot be shown is named."""
    shown = plain(text)
    harmless = not shown.lstrip().startswith(_FORMULA) or _NUMBER.fullmatch(shown)
    return shown if harmless else f"'{shown}"


def csv_line(cells: Sequence[str]) -> bytes:
    """A line of a CSV file, as RFC 4180 has it, with its line end."""
    line = io.StringIO(newline="")
    csv.writer(line).writerow([cell(one) for one in cells])
    return line.getvalue().encode("utf-8")
