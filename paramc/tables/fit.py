"""Choosing the form: the linear rule where it gives the very integers, else the full table."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.tables.table import WIDEST, FullTable, LinearRule, Table

_MOST_SHIFT = 24


def fit(wanted: Sequence[int]) -> Table:
    """The cheapest rule that gives exactly the wanted integers, one a code, at least one."""
    return linear_rule(wanted) or FullTable(tuple(wanted))


def linear_rule(wanted: Sequence[int]) -> LinearRule | None:
    """The linear rule with the least shift that gives every wanted integer; None where none does.

    For each shift the multiplier is the slope between the ends, rounded, and its neighbours; the
    offset must lie in the intersection of what each code allows.
    """
    entries = len(wanted)
    falling = wanted[-1] < wanted[0]
    change = [wanted[0] - y if falling else y - wanted[0] for y in wanted]
    top = max(1, entries - 1)
    for shift in range(_MOST_SHIFT + 1):
        slope = (2 * (change[-1] << shift) + top) // (2 * top)
        for multiplier in (slope, slope - 1, slope + 1):
            if multiplier < 0 or multiplier * top >= WIDEST:
                continue
            offset = _offset(change, multiplier, shift)
            if offset is not None and multiplier * top + offset < WIDEST:
                return LinearRule(entries, wanted[0], falling, multiplier, offset, shift)
    return None


def _offset(change: Sequence[int], multiplier: int, shift: int) -> int | None:
    least, most = 0, WIDEST
    for k, y in enumerate(change):
        least = max(least, (y << shift) - k * multiplier)
        most = min(most, ((y + 1) << shift) - 1 - k * multiplier)
        if least > most:
            return None
    return least
