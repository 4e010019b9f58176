"""`paramc stamp`: one image a unit, with its serial, board revision and trims, and a line in the log."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import assert_never

import click

from paramc.cli import say
from paramc.cli.files import Trouble, because, read_bytes
from paramc.cli.layouts import Found, cautions, released
from paramc.cli.placing import GROUP, Done, OneEach, Placing, Stopped, Together, image_digest
from paramc.cli.progress import Progress
from paramc.cli.renderers.stamp import FORMAT, Summary, label_file, stamped_data, stamped_text
from paramc.cli.say import plain
from paramc.cli.ship_log import ShipLog, ship_log
from paramc.cli.spool import Spool
from paramc.frozen import dataclass
from paramc.image import batch
from paramc.image.batch import Failed, Listed, Mistake, Share, UnitList, is_serial
from paramc.image.ledger import Ledger
from paramc.image.log import Run, attempt_of, failure_of, reservation
from paramc.image.rerun import HARDWARE, planned
from paramc.image.stamp import Unit, stamper
from paramc.layout.layout import Layout

LONGEST_OPERATOR = 60
"""Characters."""


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for. ending: of the files. again: trims, and "hardware", that are taken anew. station:
    None where it was not said."""

    release: str
    units: str
    folder: str
    log: str
    ending: str
    again: tuple[str, ...] = ()
    operator: str | None = None
    station: int | None = None
    stations: int = 1
    together: bool = False
    force: bool = False

    @property
    def share(self) -> Share:
        """The units of the list that this station takes."""
        return Share(self.station or 1, self.stations) if self.stations > 1 else Share()


def run(order: Order, *, as_json: bool) -> int:
    """Exit status: 0 where every unit of the share was stamped, else 1; the good units are written."""
    try:
        found = released(order.release)
        units = batch.read_list(found.layout.product, read_bytes(order.units, batch.LARGEST))
        if isinstance(units, Mistake):
            raise Trouble(f"{plain(order.units)}: {plain(units.sentence)}")
        _check(order, found.layout, units)
        return _stamped(order, found, units, as_json)
    except Trouble as trouble:
        problem = f"{trouble} Nothing was stamped."
        if as_json:
            say.data({"format": FORMAT, "problems": [problem]})
        say.person(problem)
        return 1


def _check(order: Order, layout: Layout, units: UnitList) -> None:
    """Uses of the command that cannot be meant."""
    if order.station is not None and order.stations > 1 and order.station > order.stations:
        raise click.UsageError(f"there is no station {order.station} among {order.stations}")
    if order.stations > 1 and order.station is None:
        raise click.UsageError(f"say which of the {order.stations} stations this is: --station N")
    operator = order.operator
    if operator is not None and not (0 < len(operator) <= LONGEST_OPERATOR and plain(operator) == operator):
        raise click.UsageError(f"the operator is a name of at most {LONGEST_OPERATOR} characters")
    trims = {trim.name: trim for trim in layout.product.trims}
    for name in order.again:
        if name != HARDWARE and name not in trims:
            known = ", ".join([*trims, *([HARDWARE] if layout.product.hardware else [])]) or "none"
            raise click.UsageError(f"--again names a trim, and {plain(name)} is none; there are {known}")
        if name not in units.head and f"{name}{batch.READING}" not in units.head and name != HARDWARE:
            columns = f"{name} or {name}{batch.READING}"
            raise click.UsageError(f"--again {name} needs a column {columns} in the list")


def _stamped(order: Order, found: Found, units: UnitList, as_json: bool) -> int:
    product, share, folder = found.layout.product, order.share, Path(order.folder)
    if folder.exists() and not folder.is_dir():
        raise Trouble(f"{plain(order.folder)} is a file, and a folder is needed there.")
    code = f"0x{product.code:04X}"
    said = Run(order.operator, order.station, product.name, code, product.revision, found.digest)
    name = _range_name(product.name, units, share)
    if not as_json:
        say.out(*cautions(found.layout, "stamp", "bench"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with ship_log(order.log) as log, Spool(folder, product.trims) as spool:
            ledger = Ledger(code, units.counted)
            for offset, entry in log.entries():
                ledger.note(offset, entry)
            log.append(
                reservation(_now(), said, (one for one in units.serials(share) if not ledger.knows(one)))
            )
            placing = _placing(order, found.layout, name, log, share.of(units.units))
            problem = _Bench(order, found.layout, units, said, ledger, log, placing, spool).stamp_all()
            summary = Summary(
                found, order.folder, order.log, share.of(units.units), spool, ledger.waiting, log.cut,
                order.together,
            )
            if problem is None and name is not None:
                problem = _labels(order, summary, f"{name}.csv")
            if as_json:
                stamped_data(summary, problem)
            else:
                stamped_text(summary, problem)
            if problem is not None:
                say.person(problem)
            return 1 if problem is not None or spool.failed else 0
    except OSError as error:
        raise Trouble(because(_named(order, error), "cannot be written to", error)) from error


def _labels(order: Order, summary: Summary, name: str) -> str | None:
    """Writes the list for labels; a sentence where it cannot be, which takes nothing from the units."""
    try:
        label_file(summary, Path(order.folder), name, force=order.force)
    except Trouble as trouble:
        problem = str(trouble)
    except OSError as error:
        problem = because(_named(order, error), "cannot be written to", error)
    else:
        return None
    return f"{problem} The units are made and logged; the list for labels alone is not as it should be."


@dataclass(frozen=True, slots=True)
class _Bench:
    """A run with everything at hand: its list, what the log knows of it, and where images go."""

    order: Order
    layout: Layout
    units: UnitList
    said: Run
    ledger: Ledger
    log: ShipLog
    placing: Placing
    spool: Spool

    def stamp_all(self) -> str | None:
        """Stamps every unit of the share. A sentence where it had to stop on the way."""
        total = self.order.share.of(self.units.units)
        work = self._work()
        try:
            with Progress(total) as progress:
                while group := list(islice(work, GROUP)):
                    self.placing.take(group)
                    for done in group:
                        self.spool.add(done)
                    progress.show(self.spool.made, self.spool.failed)
            self.placing.finish()
        except Stopped as stopped:
            for done in stopped.done:
                self.spool.add(done)
            return self._stop(stopped.error, total)
        except OSError as error:
            return self._stop(error, total)
        except Trouble as trouble:
            if self.order.together:
                self.spool.clear()
            return str(trouble)
        finally:
            self.placing.drop()
        return None

    def _stop(self, error: OSError, total: int) -> str:
        if self.order.together:
            self.spool.clear()
        made, failed = self.spool.made, self.spool.failed
        return (
            f"{because(_named(self.order, error), 'cannot be written to', error)} Of {total} units {made} are"
            f" made and logged, {failed} failed and {total - made - failed} are missing. Mend the disk and"
            " run the same command again: serials and trims are kept."
        )

    def _work(self) -> Iterator[Done]:
        """Every unit of the share with its image, or why it has none."""
        image_of = stamper(self.layout)
        for one in self.units.read(self.order.share):
            match one:
                case Failed():
                    yield self._failed(one.mistake.line or 0, one.serial, one.mistake)
                case Listed():
                    yield self._made(one, image_of)
                case other:
                    assert_never(other)

    def _made(self, one: Listed, image_of: Callable[[Unit], bytes]) -> Done:
        serial = one.unit.serial
        if self.ledger.is_of_another_product(serial):
            return self._refused(one, "serial", f"serial {serial} is another product's by the log.")
        offset = self.ledger.last_made(serial)
        before = None if offset is None else self.log.attempt(offset)
        plan = planned(self.layout, one.unit, before, self.order.again)
        if isinstance(plan, str):
            return self._refused(one, "", plan)
        image = image_of(plan.unit)
        digest = None if before is None else before.image
        if (stranger := self.placing.stranger(serial, image, digest)) is not None:
            return self._refused(one, "", stranger)
        hardware = one.unit.hardware
        board = None if hardware is None else self.layout.product.boards[hardware]
        entry = attempt_of(
            _now(), self.said, serial, self.ledger.attempts(serial) + 1, board, plan.trims,
            image_digest(image), self.placing.name(serial),
        )
        return Done(one.line, serial, entry, plan.unit, image, ignored=plan.ignored)

    def _refused(self, one: Listed, column: str, what: str) -> Done:
        """A unit whose line is right, and which cannot be stamped even so."""
        serial = one.unit.serial
        cell = serial if column == "serial" else ""
        return self._failed(one.line, serial, Mistake(one.line, column, cell, f"Line {one.line}: {what}"))

    def _failed(self, line: int, cell: str, mistake: Mistake) -> Done:
        serial = cell if is_serial(self.layout.product, cell) else None
        number = 1 if serial is None else self.ledger.attempts(serial) + 1
        entry = failure_of(_now(), self.said, serial, number, mistake.sentence)
        return Done(line, cell, entry, mistake=mistake)


def _placing(order: Order, layout: Layout, name: str | None, log: ShipLog, units: int) -> Placing:
    folder = Path(order.folder)
    if not order.together or name is None:
        return OneEach(layout, folder, order.ending, log, order.force)
    return Together(layout, folder, f"{name}.{order.ending}", order.ending, log, units, order.force)


def _range_name(product: str, units: UnitList, share: Share) -> str | None:
    """What the files of a whole run are called after: the first and the last serial of the share."""
    first = last = None
    for last in units.serials(share):
        first = first or last
    return None if first is None else f"{product}.{first}_to_{last}"


def _named(order: Order, error: OSError) -> str:
    """The file or folder that an error is about."""
    return str(error.filename) if error.filename else order.folder


def _now() -> str:
    """UTC to the millisecond: the log alone has times."""
    return f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%S.%f}"[:-3] + "Z"
