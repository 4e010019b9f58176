"""The list of a batch: CSV as RFC 4180 has it, one unit a line, and what spreadsheets do to it."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from fractions import Fraction
from typing import Final

from paramc.frozen import dataclass
from paramc.image.codes import quantity_text, shown
from paramc.image.stamp import Unit
from paramc.model.items import Trim
from paramc.model.product import Product
from paramc.numbers.quantity import Quantity, parse_quantity
from paramc.numbers.real import Real, add, compare
from paramc.numbers.units import NO_UNIT

LARGEST: Final = 16 << 20
"""Bytes of a list."""

MOST_UNITS: Final = 100_000
LONGEST_CELL: Final = 200
"""Characters."""

READING: Final = " reading"
"""Behind a trim's name at the head of a column: what its probe showed with the trim at nominal."""

_SERIAL: Final = re.compile(r"[A-Z][A-Z0-9-]*")
_EATEN: Final = re.compile(r"[0-9]+([.,][0-9]+)?[Ee][+-]?[0-9]+")
_COMMA: Final = re.compile(r"[-+\u2212]?[0-9]+,[0-9]+")
_UTF_16: Final = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


@dataclass(frozen=True, slots=True)
class Mistake:
    """What is wrong at a place of the list. line: from 1, None where it is the whole file; column: its
    head, "" where it is the whole line; cell: what stands there. sentence: whole, and says what to write."""

    line: int | None
    column: str
    cell: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Listed:
    """A unit that is right, and the line that it stands in."""

    line: int
    unit: Unit


@dataclass(frozen=True, slots=True)
class Failed:
    """A unit that is not stamped. serial: as it stands in the list, "" where the line has none."""

    serial: str
    mistake: Mistake


@dataclass(frozen=True, slots=True)
class Share:
    """Every stations-th unit of a list, beginning with number station, from 1: what one of several benches
    that work on the same list takes."""

    station: int = 1
    stations: int = 1

    def __post_init__(self) -> None:
        if not 1 <= self.station <= self.stations:
            raise ValueError(f"station {self.station} of {self.stations}")

    def has(self, at: int) -> bool:
        """Whether the unit at a place of the list, from 0, is in it."""
        return at % self.stations == self.station - 1

    def of(self, units: int) -> int:
        """How many of so many units are in it."""
        return (units - self.station) // self.stations + 1


WHOLE: Final = Share()


@dataclass(frozen=True, slots=True)
class UnitList:
    """A list that can be read from end to end; what is wrong with single units is told as they are read.

    head: the names of its columns. counted: on how many lines each serial stands. units: how many there
    are. The list is kept as the bytes that it is; units are made of them one at a time.
    """

    product: Product
    data: bytes
    head: tuple[str, ...]
    counted: Mapping[str, int]
    units: int

    def read(self, share: Share = WHOLE) -> Iterator[Listed | Failed]:
        """The units of a share, in the order of the list, each right or failed by itself."""
        at = self.head.index("serial")
        for line, row in self._rows(share):
            try:
                yield Listed(line, _unit(self.product, self.head, row, self.counted))
            except _Wrong as wrong:
                yield Failed(row[at] if len(row) > at else "", wrong.on(line))

    def serials(self, share: Share = WHOLE) -> Iterator[str]:
        """What can be a serial of a unit among those of a share, each once, whatever else is wrong there."""
        at = self.head.index("serial")
        twice: set[str] = set()
        for _, row in self._rows(share):
            serial = row[at] if len(row) > at else ""
            if not is_serial(self.product, serial) or serial in twice:
                continue
            if self.counted[serial] > 1:
                twice.add(serial)
            yield serial

    def _rows(self, share: Share) -> Iterator[_Row]:
        rows = _rows(self.data)
        next(rows)
        return (row for at, row in enumerate(rows) if share.has(at))


class _Wrong(Exception):
    """What cannot be taken, in a line that the one who catches it knows; what: a clause."""

    def __init__(self, column: str, cell: str, what: str) -> None:
        super().__init__(what)
        self.column, self.cell, self.what = column, cell, what

    def on(self, line: int) -> Mistake:
        return Mistake(line, self.column, self.cell, f"Line {line}: {self.what}.")


_Row = tuple[int, list[str]]


def read_list(product: Product, data: bytes) -> UnitList | Mistake:
    """A list, or the one mistake for which it cannot be read as a whole. Never raises.

    A byte order mark, any line ends, and lines and columns at the end that are empty all through are
    taken as spreadsheets write them.
    """
    if (fault := _no_text(data)) is not None:
        return fault
    rows = _rows(data)
    line = 1
    try:
        first = next(rows, None)
        if first is None:
            return _whole("The list is empty; its first line names the columns, the first of them serial.")
        line, head = first
        while not head[-1]:
            head.pop()
        _check_head(product, head)
        at = head.index("serial")
        counted: dict[str, int] = {}
        units = 0
        for _, row in rows:
            units += 1
            if units > MOST_UNITS:
                return _whole(f"The list has more than {MOST_UNITS} units; write it as several.")
            if len(row) > at:
                counted[row[at]] = counted.get(row[at], 0) + 1
    except _Wrong as wrong:
        return wrong.on(line)
    except csv.Error as error:
        at_line = error.args[1]
        sentence = (
            f"Line {at_line} is not CSV: a quote is not closed, or more text follows one that is (a quote"
            " inside a quoted cell is written twice), or a cell is longer than any."
        )
        return Mistake(at_line, "", "", sentence)
    if not units:
        return _whole("The list names its columns and has no unit below them.")
    return UnitList(product, data, tuple(head), counted, units)


def is_serial(product: Product, text: str) -> bool:
    """Whether a unit of the product can have a serial."""
    return len(text) <= product.holds.serial_characters and bool(_SERIAL.fullmatch(text))


# ---- the form


def _no_text(data: bytes) -> Mistake | None:
    if len(data) > LARGEST:
        return _whole(f"The list has more than {LARGEST >> 20} MiB; write it as several.")
    if data.startswith(_UTF_16):
        return _whole("The list is UTF-16 text; save it as CSV in UTF-8.")
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = len(re.findall(rb"\r\n|\r|\n", data[: error.start])) + 1
        sentence = f"Line {line} has a byte that is not UTF-8 text; save the list as CSV in UTF-8."
        return Mistake(line, "", "", sentence)
    return None


def _rows(data: bytes) -> Iterator[_Row]:
    """Every line that is not empty all through, with its number, the head first. csv.Error with the number
    of the line behind its text."""
    # Read on from the bytes: a copy of the whole as text would cost as much again, or four times.
    text = io.TextIOWrapper(io.BytesIO(data), "utf-8-sig", newline="")
    reader = csv.reader(text, strict=True)
    line = 1
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise csv.Error(str(error), line) from None
        if any(row):
            yield line, row
        line = reader.line_num + 1


def _whole(sentence: str) -> Mistake:
    return Mistake(None, "", "", sentence)


def _check_head(product: Product, head: Sequence[str]) -> None:
    """Raises _Wrong on the first thing that is wrong with the names of the columns."""
    if head[0].lower().startswith("sep="):
        raise _Wrong("", head[0], f"{_quoted(head[0])} is for spreadsheets alone; leave this line out")
    for mark, called in ((";", "semicolons"), ("\t", "tabs")):
        if len(head) == 1 and mark in head[0]:
            write = shown(head[0].replace(mark, ","))
            raise _Wrong("", head[0], f"the cells are parted by {called}; write commas: {write}")
    known = ["serial", *(["hardware"] if product.hardware else [])]
    known += [name for trim in product.trims for name in (trim.name, f"{trim.name}{READING}")]
    for at, name in enumerate(head):
        if name in head[:at]:
            raise _Wrong(name, name, f"column {_quoted(name)} stands twice; leave one out")
        if name not in known:
            near = get_close_matches(shown(name), known, 1)
            write = f"write {near[0]}" if near else f"the columns are {', '.join(known[:8])}"
            raise _Wrong(name, name, f"column {at + 1}, {_quoted(name)}, is not known; {write}")
    if "serial" not in head:
        raise _Wrong("serial", "", "there is no column serial, and every unit needs one")
    if len(product.hardware) > 1 and "hardware" not in head:
        fit = " or ".join(product.hardware)
        raise _Wrong("hardware", "", f"there is no column hardware, and the image fits {fit}")
    for trim in product.trims:
        reading = f"{trim.name}{READING}"
        if reading in head and trim.name in head:
            raise _Wrong(reading, reading, f"both {trim.name} and {reading} are there; leave one out")
        if reading in head and not (trim.aim and trim.slope):
            lacks = "slope" if trim.aim else "aim"
            what = f"trim {trim.name} has no {lacks} to count a reading from; give {trim.name} itself"
            raise _Wrong(reading, reading, what)


# ---- one unit


def _unit(product: Product, head: Sequence[str], row: Sequence[str], counted: Mapping[str, int]) -> Unit:
    row = row[: len(head)] if not any(row[len(head) :]) else row
    if len(row) != len(head):
        comma = "; a decimal comma does that: write 0.15, not 0,15" if len(row) > len(head) else ""
        raise _Wrong("", "", f"there are {len(row)} cells under a head of {len(head)}{comma}")
    cells = dict(zip(head, row, strict=True))
    for column, cell in cells.items():
        if len(cell) > LONGEST_CELL:
            what = f"{column} has {len(cell)} characters, and {LONGEST_CELL} are the most"
            raise _Wrong(column, shown(cell), what)
        if ";" in cell and cell not in product.hardware:
            raise _Wrong(column, cell, f"{column} {_quoted(cell)} has a semicolon; part cells by commas")
    serial = _serial(product, cells["serial"], counted)
    return Unit(serial, _hardware(product, cells.get("hardware")), tuple(_trims(product, cells)))


def _serial(product: Product, cell: str, counted: Mapping[str, int]) -> str:
    def refuse(why: str) -> _Wrong:
        return _Wrong("serial", cell, f"serial {_quoted(cell)} {why}" if cell else f"serial {why}")

    most = product.holds.serial_characters
    if not most:
        raise refuse("has no room: the product holds none")
    if not cell:
        raise refuse("is missing")
    if _EATEN.fullmatch(cell):
        raise refuse("is read as a power of ten by spreadsheets; begin it with a letter: TP-0001E2")
    if cell.isdecimal():
        raise refuse("is all digits, and spreadsheets drop zeros in front; begin it with a letter: TP-000123")
    if not _SERIAL.fullmatch(cell):
        upper = cell.strip().upper()
        right = upper if _SERIAL.fullmatch(upper) else "a capital letter, then A to Z, 0 to 9 and hyphen"
        raise refuse(f"is no serial; write {right}")
    if len(cell) > most:
        raise refuse(f"has {len(cell)} characters, and the unit has room for {most}")
    if counted[cell] > 1:
        raise refuse(f"stands on {counted[cell]} lines; no two units have one serial")
    return cell


def _hardware(product: Product, cell: str | None) -> int | None:
    if not product.hardware:
        return None
    if cell is None:
        return product.hardware_places[0]  # the only one: without a column there is no other
    if cell not in product.hardware:
        fit = " or ".join(product.hardware)
        raise _Wrong("hardware", cell, f"hardware {_quoted(cell)} does not fit this image; write {fit}")
    return product.hardware_places[product.hardware.index(cell)]


def _trims(product: Product, cells: Mapping[str, str]) -> Iterator[tuple[str, int]]:
    for trim in product.trims:
        reading = f"{trim.name}{READING}"
        if trim.name in cells:
            value: Real = _number(trim.name, cells[trim.name], trim)
            yield trim.name, _code(trim, value, trim.name, cells[trim.name])
        elif reading in cells:
            assert trim.aim is not None and trim.slope is not None
            change = (trim.aim.number - _number(reading, cells[reading], trim)) / trim.slope
            value = add(trim.scale.value(trim.nominal), change)
            yield trim.name, _code(trim, value, reading, cells[reading])


def _number(column: str, cell: str, trim: Trim) -> Fraction:
    """A plain number, in the unit that the column counts in."""
    unit = trim.scale.unit if column == trim.name or trim.aim is None else trim.aim.unit

    def refuse(why: str) -> _Wrong:
        return _Wrong(column, cell, f"{column} {_quoted(cell)} {why}" if cell else f"{column} {why}")

    quantity = parse_quantity(cell)
    if quantity is not None and quantity.unit == NO_UNIT:
        return quantity.number
    if not cell:
        raise refuse("is empty; write the number, or leave the whole column out")
    if _COMMA.fullmatch(cell):
        raise refuse(f"has a decimal comma; write {cell.replace(',', '.')}")
    if _EATEN.fullmatch(cell):
        raise refuse("is a power of ten; write the number in full")
    if quantity is not None:
        raise refuse(f"has a unit; write the number alone, in {unit.symbol or 'plain numbers'}")
    if cell.startswith(("=", "@", "+")):
        raise refuse("is a formula or has a sign too many; write the number alone")
    if parse_quantity(cell.strip()) is not None:
        raise refuse(f"has blanks around it; write {cell.strip()}")
    raise refuse(f"is no number; write it like {Quantity(Fraction(-1, 4), NO_UNIT)} or 12")


def _code(trim: Trim, value: Real, column: str, cell: str) -> int:
    """The nearest grid point of a value that lies where a trim may; it is never brought back there."""
    scale = trim.scale
    bounds = [("its range", (scale.low, scale.high))]
    if trim.plausible is not None:
        bounds.insert(0, ("what is plausible", trim.plausible))
    for what, (low, high) in bounds:
        if compare(value, low) < 0 or compare(value, high) > 0:
            asks = "" if column == trim.name else f"asks for {quantity_text(value, scale.unit)}, which "
            ends = f"{quantity_text(low, scale.unit)} to {quantity_text(high, scale.unit)}"
            clause = f"{column} {shown(cell)} {asks}is outside {what}, {ends}; measure again"
            raise _Wrong(column, cell, clause)
    return scale.nearest_code(value)


def _quoted(cell: str) -> str:
    return f'"{shown(cell)}"'
