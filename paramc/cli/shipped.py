"""One unit in the record of what was shipped: the last image that was made for it, made again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from paramc.cli.files import Trouble
from paramc.cli.say import plain
from paramc.image.codes import Meant, meant_by
from paramc.image.log import LONGEST_LINE, Attempt, Outcome, read_line
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Layout
from paramc.model.items import Trim

Shipped = Attempt
"""The attempt by which a unit left the house."""


def can_be_read(log: str) -> None:
    """Raises Trouble where a log cannot be: that says nothing of any unit."""
    next(_lines(log), None)


def shipped_unit(log: str, serial: str) -> Shipped:
    """The last attempt that made an image for a serial: the one with the highest number, and of these the
    latest, since joined logs stand in no order. Raises Trouble with a sentence."""
    found: list[Attempt] = []
    for number, line in _lines(log):
        if serial.encode("ascii", "replace") not in line:
            continue
        entry = read_line(line)
        if isinstance(entry, str):
            raise Trouble(
                f"{plain(log)}, line {number}, names serial {plain(serial)} and cannot be read."
                f" {plain(entry)}"
            )
        if isinstance(entry, Attempt) and entry.serial == serial and entry.outcome is Outcome.MADE:
            found.append(entry)
    if not found:
        hint = "" if serial == serial.upper() else f" Serials have capital letters: {plain(serial.upper())}."
        raise Trouble(f"{plain(log)} has no image that was made for serial {plain(serial)}.{hint}")
    products = sorted({one.run.product for one in found})
    if len(products) > 1:
        raise Trouble(f"{plain(log)} has serial {plain(serial)} for {' and '.join(map(plain, products))}.")
    return max(found, key=lambda one: (one.attempt, one.time))


def shipped_memory(layout: Layout, record: Shipped) -> bytes:
    """The memory of the unit as it left the house. layout: of the release that it was stamped from.

    Raises Trouble where the record does not make the very image whose digest it has: then something in it
    is not what the bench wrote, and no trim of it is to be believed.
    """
    serial = plain(record.serial or "")
    boards = {name: place for place, name in layout.product.boards.items()}
    trims = []
    for logged in record.trims:
        item = next((one for one in layout.product.trims if one.name == logged.item), None)
        if logged.measured:
            trims.append((logged.item, _code(layout, item, logged.value, serial)))
    if record.hardware is not None and record.hardware not in boards:
        raise Trouble(
            f"The log has hardware {plain(record.hardware)} for serial {serial}, which is not known."
        )
    hardware = None if record.hardware is None else boards[record.hardware]
    memory = stamp_image(layout, Unit(record.serial or "", hardware, tuple(trims)))
    if hashlib.sha256(memory).hexdigest().upper() != record.image:
        raise Trouble(
            f"What the log says of serial {serial} does not make the image whose digest it has, so it was"
            " changed; nothing of it is taken."
        )
    return memory


def _code(layout: Layout, item: Trim | None, value: str, serial: str) -> int:
    meant = None if item is None else meant_by(layout.product, item, value)
    if not isinstance(meant, Meant):
        raise Trouble(
            f"The log has a trim for serial {serial} that the release does not have: {plain(value)}."
        )
    return meant.code


def _lines(path: str) -> Iterator[tuple[int, bytes]]:
    """The lines of a log, numbered from 1; one that is too long for a line comes cut."""
    try:
        with open(path, "rb") as file:
            number = 0
            while line := file.readline(LONGEST_LINE + 2):
                number += 1
                yield number, line.rstrip(b"\n")
                while len(line) == LONGEST_LINE + 2 and not line.endswith(b"\n"):
                    line = file.readline(LONGEST_LINE + 2)
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise Trouble(f"{plain(path)} cannot be read: {reason}.") from error
