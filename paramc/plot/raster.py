"""A curve drawn with letters, to be read without colour: * for it, o for an older one, # where both are."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from paramc.image.codes import quantity_text
from paramc.model.clocks import clock_text
from paramc.plot.curve import PARTS, Curve, half_hours

COLUMNS: Final = 61
ROWS: Final = 17
_EACH: Final = PARTS // (COLUMNS - 1)
_NOON: Final = (COLUMNS - 1) // 2


def drawn(curve: Curve, older: Sequence[Fraction] = ()) -> list[str]:
    """Lines of a drawing: travel to the right, value upwards on an even scale, noon a column of colons.

    older: the values of another curve, in the unit of this one and at the same travels.
    """
    low, high = bounds(curve, older)
    new, old = _cells(curve.values, low, high), _cells(older, low, high)
    labels = {0: low, ROWS // 2: (low + high) / 2, ROWS - 1: high}
    words = {row: _label(value, high - low, curve) for row, value in labels.items()}
    width = max(map(len, words.values()))
    lines = []
    for row in reversed(range(ROWS)):
        marks = (_mark(column, (column, row) in new, (column, row) in old) for column in range(COLUMNS))
        edge = "+" if row in words else "|"
        lines.append(f"{words.get(row, ''):>{width}} {edge}{''.join(marks)}".rstrip())
    return [*lines, *(f"{'':{width}} {line}" for line in _axis(curve))]


def bounds(curve: Curve, older: Sequence[Fraction]) -> tuple[Fraction, Fraction]:
    """The least and greatest value to be drawn."""
    every = (*curve.values, *older)
    return min(every), max(every)


def rounded(value: Fraction, width: Fraction) -> Fraction:
    """A value that labels an axis: to three digits of the width, or as it is where it has fewer."""
    places = 0
    while width * 10**places < 100:
        places += 1
    return Fraction(round(value * 10**places), 10**places)


def _label(value: Fraction, width: Fraction, curve: Curve) -> str:
    return quantity_text(rounded(value, width), curve.unit)


def _cells(values: Sequence[Fraction], low: Fraction, high: Fraction) -> set[tuple[int, int]]:
    """The cells that a curve goes through: one in each column, and what is steep is joined downwards."""
    rows = [round((value - low) / (high - low) * (ROWS - 1)) for value in values[::_EACH]]
    cells = set()
    for column, row in enumerate(rows):
        before = rows[max(column - 1, 0)]
        step = 1 if row > before else -1
        cells |= {(column, each) for each in range(before + step if row != before else row, row + step, step)}
    return cells


def _mark(column: int, new: bool, old: bool) -> str:
    if new or old:
        return "#" if new and old else "*" if new else "o"
    return ":" if column == _NOON else " "


def _axis(curve: Curve) -> tuple[str, str]:
    ticks, words = ["-"] * COLUMNS, [" "] * (COLUMNS + 4)
    for travel in half_hours(curve.turn):
        clock = clock_text(travel, curve.turn)
        column = round(travel * (COLUMNS - 1))
        hour, minutes = clock.split(":")
        if minutes == "00":
            ticks[column] = "+"
            words[column : column + len(hour)] = hour
    return "+" + "".join(ticks), " " + "".join(words).rstrip()
