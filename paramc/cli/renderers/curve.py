"""A taper for people: drawn, and as the table of what each position of the knob gives."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.model.panel import CLOCK_DEGREES
from paramc.numbers.quantity import decimal_text
from paramc.plot.curve import Curve, Third, Zone
from paramc.plot.raster import drawn


def as_text(curve: Curve, older: Curve | None, values: Sequence[Fraction], *, picture: bool) -> list[str]:
    """Lines for a terminal. older: the curve that it is held against, and its values in this one's unit."""
    lines = [_heading(curve)]
    if older is not None:
        lines.append(f"Old: {older.range}, {older.noon} at noon.")
    if picture:
        lines += ["", *drawn(curve, values)]
        if older is not None:
            lines.append("  * is new, o is old, # is both.")
    lines += ["", *_table(curve, older), ""]
    lines += _thirds(curve.thirds)
    if older is not None:
        lines += ["", "Of the old:", *_thirds(older.thirds)]
    return lines


def zones_text(what: str, set_by: str | None, zones: Sequence[Zone]) -> list[str]:
    """Lines for an item that has ways and no taper. what: its kind and label, fit for a terminal."""
    turned = bool(zones[0].begins)
    how = "which share its travel equally" if turned else "one a position"
    by = "no control sets it" if set_by is None else f"{set_by} sets its ways, {how}"
    lines = [f"{what} has no taper: {by}.", ""]
    head, right = ["way", "label", "code"], "llr"
    rows = [[one.way, one.label, str(one.code)] for one in zones]
    if turned:
        head, right = [*head, "from", "to"], right + "rr"
        rows = [[*row, one.begins, one.ends] for row, one in zip(rows, zones, strict=True)]
    if zones[0].engine is not None:
        head, right = [*head, "engine"], right + "r"
        rows = [[*row, str(one.engine)] for row, one in zip(rows, zones, strict=True)]
    return [*lines, *table(head, rows, right)]


def _heading(curve: Curve) -> str:
    text = f'{curve.kind.capitalize()} "{plain(curve.label)}": {curve.range}, {curve.noon} at noon'
    if curve.flat:
        text += f", flat for {decimal_text(curve.flat * 100)} % of the travel about it"
    text += f"; {curve.set_by} sets it" if curve.set_by else "; no control sets it"
    turn = "" if curve.turn == CLOCK_DEGREES else f", a knob of {decimal_text(curve.turn)} degrees"
    return f"{text}{turn}."


def _table(curve: Curve, older: Curve | None) -> list[str]:
    engines = curve.positions[0].engine is not None
    head, right = ["clock", "value", "code"] + ["engine"] * engines, "rrr" + "r" * engines
    rows = [[one.clock, one.value, str(one.code)] + [str(one.engine)] * engines for one in curve.positions]
    if older is not None:
        known = {one.clock: one for one in older.positions}
        head, right = [*head, "old value", "old code"], right + "rr"
        for row in rows:
            other = known.get(row[0])
            row += ["", ""] if other is None else [other.value, str(other.code)]
    return table(head, rows, right)


def _thirds(thirds: Sequence[Third]) -> Iterator[str]:
    for word, third in zip(("first", "second", "last"), thirds, strict=True):
        yield (
            f"  The {word} third of the range, {third.low} to {third.high}, has"
            f" {decimal_text(third.share * 100)} % of the travel: {third.begins} to {third.ends}."
        )
