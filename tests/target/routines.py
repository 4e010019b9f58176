"""The bytes that choosing reckons with, beside those of the functions as compilers make them today."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.emit.constants import CType
from paramc.emit.evaluators import function_name
from paramc.tables.blocks import Blocks
from paramc.tables.costs import Family, Part, cost_of, routine_bytes, routines_of
from paramc.tables.datum import WORDS, Datum
from paramc.tables.even_grid import EvenGrid
from paramc.tables.forms import AnyTable, Form, form_of
from paramc.tables.free_knots import FreeKnots
from paramc.tables.offset_table import OffsetTable
from paramc.tables.segments import FreeSegments
from paramc.tables.table import FullTable, LinearRule
from tests.target.measured import AVR, functions_of, taken
from tests.target.tables_in_c import Rule, definitions


def rules() -> list[Rule]:
    """Two small tables for every routine, unlike in all that it is told, so that it stands for itself."""
    found: list[Rule] = []
    for width in WORDS:
        datum, result = Datum(0, False, width, 0), CType(False, width)
        for more in (0, 1):
            knots = tuple(range(3 + more))
            found += [
                (EvenGrid(9 + 8 * more, datum, 3, knots), result),
                (Blocks(9 + 8 * more, datum, 3, knots, knots), result),
                (Blocks(600 + 1500 * more, datum, 9 + more, knots, knots), result),
            ]
            found += [(table, result) for table in _searched(datum, more)]
    for more in (0, 1):
        down = EvenGrid(9 + 8 * more, Datum(0, False, 16, 3 + more), 3, tuple(range(3 + more)))
        found.append((down, CType(False, 16)))
    return found


def _searched(datum: Datum, more: int) -> Iterator[AnyTable]:
    starts = tuple(range(2 + more))
    for entries in (9, 300):
        for slope_width in WORDS:
            # A half of 2^16 makes every product long.
            for shift in (4 + more, 17 + more):
                slopes = (0,) * len(starts)
                yield FreeSegments(entries, datum, starts, starts, slopes, slope_width, shift)
        if datum.width < max(WORDS):
            codes = (*range(2 + more), entries - 1)
            yield FreeKnots(datum, codes, tuple(range(len(codes))))


def plain() -> list[Rule]:
    """One table of each form that needs no routine."""
    return [
        (LinearRule(100, 7, True, 37, 5, 3), CType(False, 16)),
        (FullTable((1, 2, 3, 500)), CType(False, 16)),
        (OffsetTable((3, 700), (1, 2, 3), 1), CType(False, 16)),
    ]


def timed(chip: str) -> list[tuple[str, int, float]]:
    """Name, mean time reckoned with and mean time measured, of each form in words of each width.

    Two like tables are measured together, so that what they share is not made a part of one.
    """
    family = Family.AVR if chip == AVR else Family.CORTEX_M
    found: list[tuple[str, int, float]] = []
    for name, pair in _timed():
        calls = [(f"p_rule_{at}", table.entries) for at, (table, _) in enumerate(pair)]
        reckoned = sum(cost_of(table, family).cycles for table, _ in pair) // len(pair)
        found.append((name, reckoned, taken(chip, definitions(pair, ""), calls).mean))
    return found


def _timed() -> Iterator[tuple[str, list[Rule]]]:
    """Two tables of each kind that costs differ by."""

    def two(name: str, bits: int, *tables: AnyTable) -> tuple[str, list[Rule]]:
        return f"{name}, {bits} bits", [(table, CType(False, bits)) for table in tables]

    yield two("linear rule", 16, *(LinearRule(100, 7 + more, True, 37, 5, 3) for more in (0, 1)))
    yield two("linear rule", 32, *(LinearRule(300, 7 + more, True, 3700, 5, 8) for more in (0, 1)))
    for width in WORDS:
        most = (1 << width) - 1
        values = [tuple(most * k // (255 + more) for k in range(256)) for more in (0, 1)]
        yield two("full table", width, *(FullTable(one) for one in values))
        bases = [tuple(max(0, value - 40) for value in one[::32]) for one in values]
        yield two("byte offsets", width, *(OffsetTable(one, tuple(range(32)) * 8, 5) for one in bases))
        for places in (0, 3, 8, 12) if width > 8 else (0, 3):
            datum, what = Datum(0, False, width, places), f" shifted by {places}" if places else ""
            knots = [tuple(k * (most // (60 + more)) for k in range(17)) for more in (0, 1)]
            at = (0, 4, 8, 12, 16)
            yield two(f"even grid{what}", width, *(EvenGrid(1024, datum, 6, one) for one in knots))
            yield two(f"blocks{what}", width, *(Blocks(1024, datum, 8, at, one) for one in knots))
            yield two(f"wide blocks{what}", width, *(Blocks(1024, datum, 9, at[::2], one) for one in knots))
        datum = Datum(0, False, width, 0)
        for pieces in (2, 20):
            starts, codes = tuple(range(0, pieces * 50, 50)), pieces * 50
            bases, slopes = (0,) * pieces, (0,) * (pieces - 1) + (1,)
            # A half of 2^16 makes the product long. Two shifts, since the compiler would put one of both into
            # the routine.
            for shifts in ((0, 8), (8, 9), (12, 14), (17, 24), (20, 22)):
                yield two(f"{pieces} free segments shifted by {shifts[0]} and {shifts[1]}", width, *(
                    FreeSegments(codes, datum, starts, bases, slopes, 16, shift)
                    for shift in shifts
                ))  # fmt: skip
            if width < max(WORDS):
                yield two(f"{pieces} pieces between free knots", width, *(
                    FreeKnots(datum, (*starts, codes + more), tuple(range(pieces + 1))) for more in (0, 1)
                ))  # fmt: skip


def compared(chip: str) -> list[tuple[str, int, int | None]]:
    """Name, bytes reckoned with and bytes measured, of each routine and of a form's call in words of 16 bits.

    None is measured of a routine that the compiler makes a part of each of its calls.
    """
    family = Family.AVR if chip == AVR else Family.CORTEX_M
    of_all = [*rules(), *plain()]
    sizes = functions_of(chip, definitions(of_all, ""))
    found: list[tuple[str, int, int | None]] = []
    routines = {routine for table, _ in of_all for routine in routines_of(table)}
    for routine in sorted(routines, key=lambda routine: (routine.part.value, routine.words)):
        if routine.part not in (Part.MULTIPLY, Part.DIVIDE):
            name = function_name(routine)
            measured = [size for symbol, size in sizes.items() if symbol.split(".")[0] == f"p_{name}"]
            found.append((name, routine_bytes(family, [routine]), measured[0] if measured else None))
    calls: dict[Form, list[tuple[int, int]]] = {}
    for at, (table, result) in enumerate(of_all):
        if result.bits == 16:
            reckoned = cost_of(table, family).call
            calls.setdefault(form_of(table), []).append((sizes[f"p_rule_{at}"], reckoned))
    for form, both in calls.items():
        # The least, since now and then a routine is a part of a call all the same.
        measured_call, reckoned = min(both)
        found.append((f"call of {form.value}", reckoned, measured_call))
    return found
