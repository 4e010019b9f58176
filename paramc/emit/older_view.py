"""Records of earlier revisions as C reads them: lists of fields, and a table for each item that moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paramc.emit.constants import Constants, CType, Names, hexadecimal, unsigned
from paramc.emit.escape import c_comment
from paramc.emit.expressions import evaluation
from paramc.emit.layout_rows import Row, Rows, rows_of
from paramc.emit.vacancies import VACANCY_BYTES, VacancyView, vacancies, vacancy_data
from paramc.frozen import dataclass
from paramc.layout.layout import FieldKind, Kind, Layout
from paramc.layout.older import OldRecord, Target
from paramc.tables.table import Table, evaluate, flash_bytes

CONSTANT = 0xFF
"""In place of the number of a table: nothing is read, and the row gets the standard."""

MOST_TABLES = CONSTANT - 1

_ROW_BYTES = 7
_KIND_BYTES = 6


@dataclass(frozen=True, slots=True)
class OldRowView:
    """A field that is read, where its width is not 0, and a row that it, or the one before, goes to."""

    last: str
    standard: str
    row: str
    width: str
    table: str


@dataclass(frozen=True, slots=True)
class OldKindView:
    """A kind of record as a revision saved it; where start and end are one it is as today's."""

    comment: str
    revision: str
    kind: str
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class CarryView:
    """What the codes of an item become. number: of the table, from 1."""

    number: str
    value: str
    comment: str


@dataclass(frozen=True, slots=True)
class OlderView:
    """All that is read of earlier revisions. vacancies: of rows, where they have any."""

    rows: tuple[OldRowView, ...]
    vacancies: tuple[VacancyView, ...]
    row_count: str
    kinds: tuple[OldKindView, ...]
    kind_count: str
    carries: tuple[CarryView, ...]
    constants: tuple[Constants, ...]


@dataclass(frozen=True, slots=True)
class OlderCost:
    """What earlier revisions cost in flash, apart from the functions that read them. revisions: those that
    are read. rows, tables: bytes, where an index has one."""

    revisions: tuple[int, ...]
    rows: int
    tables: int


def older_cost(layout: Layout, older: Sequence[OldRecord]) -> OlderCost:
    """The cost of reading the records of earlier revisions."""
    view, _ = older_of(rows_of(layout), older, layout.product.prefix, CONSTANT)
    moved = {target.table for record in older for field in record.fields for target in field.targets}
    return OlderCost(
        revisions=tuple(sorted({record.revision for record in older})),
        rows=_ROW_BYTES * len(view.rows)
        + _KIND_BYTES * len(view.kinds)
        + VACANCY_BYTES * len(view.vacancies),
        tables=sum(flash_bytes(table) for table in moved if table is not None),
    )


@dataclass(frozen=True, slots=True)
class _OldRow:
    last: int
    standard: int
    row: int
    width: int
    table: int
    vacant: tuple[int, ...] = ()

    def view(self) -> OldRowView:
        return OldRowView(
            unsigned(self.last), unsigned(self.standard), unsigned(self.row), unsigned(self.width),
            hexadecimal(self.table, 8),
        )  # fmt: skip

    def data(self) -> bytes:
        numbers = (self.last, self.standard, self.row)
        return b"".join(number.to_bytes(2, "big") for number in numbers) + bytes([self.width, self.table])


def older_of(rows: Rows, older: Sequence[OldRecord], prefix: str, nothing: int) -> tuple[OlderView, bytes]:
    """The view, and what the self-test counts of it: every row, numbers high byte first. nothing: the number
    of no row. A record that C cannot read raises ValueError, as rows_of does."""
    tables: dict[Table, int] = {}
    names: dict[Table, str] = {}
    lists = [tuple(_rows(rows, record, tables, names, nothing)) for record in older]
    lists = [
        () if found == _today(rows, record.kind) else found
        for found, record in zip(lists, older, strict=True)
    ]
    listed: list[_OldRow] = []
    for found in sorted(lists, key=len, reverse=True):  # what a preset has stands in the state's list
        if _start(listed, found) is None:
            listed += found
    kinds = tuple(
        _kind(record, found, _start(listed, found) or 0, prefix)
        for record, found in zip(older, lists, strict=True)
    )
    if len(tables) > MOST_TABLES:
        raise ValueError(f"more than {MOST_TABLES} tables for earlier revisions")
    made = {
        table: evaluation(
            table,
            CType(False, 16),
            Names(prefix, "carries", str(number), f"Codes of {c_comment(names[table])}", "one an old code"),
        )
        for table, number in tables.items()
    }
    vacant = [row.vacant for row in listed]
    view = OlderView(
        rows=tuple(row.view() for row in listed),
        vacancies=vacancies(vacant),
        row_count=unsigned(len(listed)),
        kinds=kinds,
        kind_count=unsigned(len(kinds)),
        carries=tuple(
            CarryView(unsigned(number), made[table].expression, c_comment(names[table]))
            for table, number in tables.items()
        ),
        constants=tuple(one for evaluated in made.values() for one in evaluated.constants),
    )
    return view, b"".join(row.data() for row in listed) + vacancy_data(vacant)


def _start(listed: Sequence[_OldRow], found: Sequence[_OldRow]) -> int | None:
    """Where some rows stand among others, one after the other."""
    size = len(found)
    return next((at for at in range(len(listed) - size + 1) if tuple(listed[at : at + size]) == found), None)


def _kind(record: OldRecord, found: Sequence[_OldRow], start: int, prefix: str) -> OldKindView:
    return OldKindView(
        comment=f"{record.kind.value} of revision {record.revision}",
        revision=unsigned(record.revision),
        kind=f"{prefix.upper()}_{record.kind.name}_",
        start=unsigned(start),
        end=unsigned(start + len(found)),
    )


def _rows(
    rows: Rows, record: OldRecord, tables: dict[Table, int], names: dict[Table, str], nothing: int
) -> Iterator[_OldRow]:
    """A row a field that is read, one more for each further row that it goes to, and one a constant."""

    def number(target: Target) -> int:
        if target.table is None:
            return 0
        names[target.table] = ", ".join(
            dict.fromkeys((*filter(None, names.get(target.table, "").split(", ")), target.name))
        )
        return tables.setdefault(target.table, len(tables) + 1)

    for field in record.fields:
        if field.width == 0:
            for target in field.targets:
                code = 0 if target.table is None else evaluate(target.table, 0)
                yield _OldRow(0, code, _row(rows, record.kind, target.name, target.kind), 0, CONSTANT)
            continue
        targets = [(_row(rows, record.kind, one.name, one.kind), number(one)) for one in field.targets]
        first = targets[0] if targets else (nothing, 0)
        yield _OldRow(field.codes - 1, field.standard, first[0], field.width, first[1], field.vacant)
        for row, table in targets[1:]:
            yield _OldRow(0, 0, row, 0, table)
    for constant in record.constants:
        row = _row(rows, record.kind, constant.name, constant.kind)
        yield _OldRow(0, constant.code, row, 0, CONSTANT)


def _row(rows: Rows, kind: Kind, name: str, field: FieldKind) -> int:
    """The row of a field of today's record."""
    of_kind = rows.kind(kind)
    assert of_kind is not None
    return next(at for at in range(of_kind.start, of_kind.end) if rows.rows[at].name == name)


def _today(rows: Rows, kind: Kind) -> tuple[_OldRow, ...]:
    """What an old record has that is as today's."""
    of_kind = rows.kind(kind)
    assert of_kind is not None
    span = range(of_kind.start, of_kind.end)
    return tuple(_same(at, rows.rows[at]) for at in span)


def _same(at: int, row: Row) -> _OldRow:
    return _OldRow(row.last, row.standard, at, row.width, 0, row.vacant)
