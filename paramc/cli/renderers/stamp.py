"""What a run of stamp has done: for people, as data, and as the list that labels are printed from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from paramc.cli import say
from paramc.cli.files import Growing
from paramc.cli.layouts import Found, cautions_data
from paramc.cli.renderers.cells import csv_line
from paramc.cli.say import plain
from paramc.cli.spool import Spool
from paramc.image.file_records import counted
from paramc.image.spread import Spread
from paramc.layout.layout import Layout
from paramc.numbers.quantity import decimal_text, parse_quantity

FORMAT: Final = 1
"""The number of the form of the data."""

_NAMED: Final = 8
_WIDEST: Final = 120


@dataclass(frozen=True, slots=True)
class Summary:
    """A run at its end. units: how many this station had to stamp. waiting: serials that the log has
    reserved, that are not in the list, and that have no image. cut: lines of the log that a cut has left
    unfinished."""

    found: Found
    folder: str
    log: str
    units: int
    spool: Spool
    waiting: Sequence[str]
    cut: int
    together: bool

    @property
    def layout(self) -> Layout:
        """The layout of the release."""
        return self.found.layout

    @property
    def missing(self) -> int:
        """How many units have come to no end, because the run had to stop."""
        return self.units - self.spool.made - self.spool.failed


def label_file(summary: Summary, folder: Path, name: str, *, force: bool) -> None:
    """Writes the list that labels are printed from. Raises Trouble and OSError."""
    file = Growing(folder, name)
    try:
        file.write(csv_line(_label_head(summary.layout)))
        for place, row in enumerate(summary.spool.rows(), 1):
            file.write(csv_line(_label_cells(summary.layout, place, row)))
        file.place(f".{summary.layout.product.name}.stamped", force=force)
    finally:
        file.drop()


def _label_head(layout: Layout) -> list[str]:
    trims = [" ".join((trim.name, trim.scale.unit.symbol)).strip() for trim in layout.product.trims]
    return ["number", "serial", "check", "label", "hardware", "revision", "outcome", "attempt", *trims,
            "measured", "file", "reason"]  # fmt: skip


def _label_cells(layout: Layout, place: int, row: Mapping[str, Any]) -> list[str]:
    product = layout.product
    numbers = {trim["item"]: _number(trim["value"]) for trim in row["trims"]}
    made = row["outcome"] == "made"
    label = " ".join(part for part in (product.label, row["hardware"], row["serial"], row["check"]) if part)
    return [
        str(place), row["serial"], row["check"] or "", label if made else "", row["hardware"] or "",
        str(product.revision), row["outcome"], str(row["attempt"]),
        *(numbers.get(trim.name, "") for trim in product.trims),
        " ".join(trim["item"] for trim in row["trims"] if trim["measured"]),
        row["file"] or "", row["reason"] or "",
    ]  # fmt: skip


def _number(text: str) -> str:
    quantity = parse_quantity(text)
    return text if quantity is None else decimal_text(quantity.number)


def stamped_data(summary: Summary, problem: str | None) -> None:
    """The run as JSON on standard output, unit after unit."""
    product, spool = summary.layout.product, summary.spool
    head = {
        "format": FORMAT,
        "problems": [] if problem is None else [problem],
        "product": product.name,
        "revision": product.revision,
        "fingerprint": f"{summary.layout.fingerprint:08X}",
        "release": summary.found.digest,
        "listed": summary.units,
        "made": spool.made,
        "failed": spool.failed,
        "missing": summary.missing,
        "reserved_without_image": list(summary.waiting),
        "spread": [asdict(spread) for spread in spool.spreads()],
        "texts": cautions_data(summary.layout, "stamp", "bench"),
    }
    say.data_with(head, "units", spool.rows())


def stamped_text(summary: Summary, problem: str | None) -> None:
    """The run on standard output, for people: the cautions have been told before, and a problem is told
    behind it."""
    layout, spool = summary.layout, summary.spool
    product = layout.product
    say.out("", f"{plain(product.label)}, revision {product.revision}.")
    if spool.made:
        say.out("", f"Written to {plain(summary.folder)}:", "")
        for line in _table(summary):
            say.out(line)
    if summary.together and spool.made:
        size, at = product.chip.size, product.chip.hex_at
        say.out(
            "",
            f"All in one file: the first unit at 0x{at:04X}, or at the beginning of a raw file, and each next"
            f" one {size} bytes on.",
        )
    for spread in spool.spreads():
        say.out("", *_spread_text(spread))
    _ignored(spool)
    if spool.failed:
        say.out("", "Not stamped:", "")
        for row in spool.rows():
            if row["reason"] is not None:
                say.out(f"  {plain(row['reason'])}")
    if summary.waiting:
        some = ", ".join(summary.waiting[:_NAMED])
        more = f" and {len(summary.waiting) - _NAMED} more" if len(summary.waiting) > _NAMED else ""
        say.out("", f"Reserved before, not in this list, and without an image: {some}{more}.")
    if summary.cut:
        lines = f"Lines of {plain(summary.log)} that were cut short and count for nothing: {summary.cut}."
        say.out("", lines)
    good = problem is None and not spool.failed and not summary.missing
    result = f"{'PASS' if good else 'FAIL'}: {spool.made} of {summary.units} units stamped"
    say.out("", f"{result}, {spool.failed} failed, {summary.missing} missing.")


def _table(summary: Summary) -> Iterator[str]:
    """A line a unit, what a label needs first."""
    head = ("serial", "check", "hardware", "attempt", "measured trims", "file")
    widths = [len(one) for one in head]
    for cells in _cells(summary.spool):
        widths = [max(width, len(one)) for width, one in zip(widths, cells, strict=True)]
    widths = [min(width, _WIDEST) for width in widths]
    yield _line(head, widths)
    for cells in _cells(summary.spool):
        yield _line(cells, widths)


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    padded = (one.ljust(width) for one, width in zip(cells, widths, strict=True))
    return f"  {'  '.join(padded)}".rstrip()


def _cells(spool: Spool) -> Iterator[tuple[str, ...]]:
    for row in spool.rows():
        if row["outcome"] == "made":
            measured = ", ".join(
                f"{trim['item']} {trim['value']}{' (kept)' if trim['kept'] else ''}"
                for trim in row["trims"]
                if trim["measured"]
            )
            yield (
                row["serial"], row["check"], plain(row["hardware"] or "-"), str(row["attempt"]),
                measured or "none, all nominal", row["file"],
            )  # fmt: skip


def _ignored(spool: Spool) -> None:
    """Trims that the list has otherwise than an earlier attempt has measured them."""
    told = 0
    for row in spool.rows():
        if row["not_taken"]:
            names = ", ".join(row["not_taken"])
            if not told:
                say.out("", "Kept from an earlier attempt, though the list has another value:", "")
            told += 1
            if told <= _NAMED:
                again = row["not_taken"][0]
                say.out(f"  {row['serial']}: {names}. To take it from the list: --again {again}")
    if told > _NAMED:
        say.out(f"  and {told - _NAMED} more")


def _spread_text(spread: Spread) -> Iterator[str]:
    deviation = "" if spread.deviation is None else f", deviation {spread.deviation}"
    yield (
        f"{spread.item} of {counted(spread.units, 'unit')}: mean {spread.mean}{deviation}; the ends are"
        f" {spread.low} and {spread.high}."
    )
    if spread.near:
        some = ", ".join(spread.near_serials)
        more = f" and {spread.near - len(spread.near_serials)} more" if spread.near > _NAMED else ""
        yield f"  Near an end: {some}{more}."
