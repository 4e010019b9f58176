"""What a log knows of the serials that are asked about, whatever the order of its lines."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from paramc.image.log import Attempt, Entry, Outcome, Reserved

_FREE: Final = -2
_OTHERS: Final = -1
_COUNT_BITS: Final = 16
_OFFSET_BITS: Final = 48
_TIME_BITS: Final = 48


class Ledger:
    """Filled line by line. A serial costs one whole number, so that a list of 100 000 is no trouble.

    Of several attempts the last is the one with the highest number, and of these the one with the latest
    time: lines of joined logs stand in no order, and the clock of a bench without a network may be wrong.
    """

    def __init__(self, code: str, serials: Iterable[str]) -> None:
        self._code = code
        # _FREE, _OTHERS, or the key of the last attempt that made an image (0: none) and in the low bits how
        # many attempts there were. The very texts of the list are the keys, not those of the log once more.
        self._known: dict[str, int] = dict.fromkeys(serials, _FREE)
        self._waiting: set[str] = set()

    def note(self, offset: int, entry: Entry) -> None:
        """Takes in the entry whose line begins at a byte of the log."""
        ours = entry.run.code == self._code
        if isinstance(entry, Reserved):
            for serial in entry.serials:
                self._reserve(serial, ours)
            return
        if entry.serial is None or (entry.outcome is Outcome.FAILED and not ours):
            return  # that another product was refused a serial does not make it its own
        if entry.serial not in self._known:
            if entry.outcome is Outcome.MADE:
                self._waiting.discard(entry.serial)
            return
        self._reserve(entry.serial, ours)
        known = self._known[entry.serial]
        if known != _OTHERS:
            made = known >> _COUNT_BITS
            if entry.outcome is Outcome.MADE:
                made = max(made, _key(entry, offset))
            count = max(known & (1 << _COUNT_BITS) - 1, entry.attempt)
            self._known[entry.serial] = made << _COUNT_BITS | count

    def _reserve(self, serial: str, ours: bool) -> None:
        known = self._known.get(serial)
        if known is None:
            if ours:
                self._waiting.add(serial)
        elif not ours:
            self._known[serial] = _OTHERS
        elif known == _FREE:
            self._known[serial] = 0

    def knows(self, serial: str) -> bool:
        """Whether a serial is reserved."""
        return self._known.get(serial, _FREE) != _FREE

    def is_of_another_product(self, serial: str) -> bool:
        """Whether a serial is reserved for a unit of another product."""
        return self._known.get(serial) == _OTHERS

    def attempts(self, serial: str) -> int:
        """How many attempts there were."""
        known = self._known.get(serial, _FREE)
        return 0 if known < 0 else known & (1 << _COUNT_BITS) - 1

    def last_made(self, serial: str) -> int | None:
        """The byte at which the line of the last image that was made begins; None where there is none."""
        key = max(self._known.get(serial, _FREE), 0) >> _COUNT_BITS
        return key & (1 << _OFFSET_BITS) - 1 if key else None

    @property
    def waiting(self) -> tuple[str, ...]:
        """Serials of this product that were reserved, are not asked about, and have no image, in order."""
        return tuple(sorted(self._waiting))


def _key(entry: Attempt, offset: int) -> int:
    time = int(datetime.fromisoformat(entry.time).timestamp() * 1000) if _is_time(entry.time) else 0
    return (entry.attempt << _TIME_BITS | time) << _OFFSET_BITS | offset


def _is_time(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).timestamp() >= 0
    except ValueError:
        return False
