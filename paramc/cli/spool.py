"""What became of each unit of a run, kept on the disk until it is told, so that no batch is too long."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from paramc.cli.files import scratch
from paramc.cli.placing import Done
from paramc.image.label import check_characters
from paramc.image.log import Outcome
from paramc.image.spread import Spread, gather
from paramc.model.items import Trim


class Spool:
    """Taken in one by one, and read as often as wanted. made, failed: how many so far."""

    def __init__(self, folder: Path, trims: Sequence[Trim]) -> None:
        self._file = scratch(folder)
        self._trims = trims
        self._gathered = gather(trims)
        self.made = 0
        self.failed = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()

    def add(self, done: Done) -> None:
        """Takes in what became of a line of the list."""
        self._file.write(json.dumps(_row(done)).encode("ascii") + b"\n")
        if done.entry.outcome is Outcome.MADE:
            self.made += 1
            assert done.unit is not None
            for name, code in done.unit.trims:
                self._gathered[name].take(done.unit.serial, code)
        else:
            self.failed += 1

    def clear(self) -> None:
        """Forgets all of it."""
        self._file.truncate(0)
        self._file.seek(0)
        self._gathered = gather(self._trims)
        self.made = self.failed = 0

    def spreads(self) -> tuple[Spread, ...]:
        """How the measured trims of the units that were made lie, in the order of the product."""
        found = (gathering.spread() for gathering in self._gathered.values())
        return tuple(spread for spread in found if spread is not None)

    def rows(self) -> Iterator[Mapping[str, Any]]:
        """What was taken in, in that order, as JSON has it."""
        self._file.seek(0)
        for line in self._file:
            yield json.loads(line)


def _row(done: Done) -> dict[str, Any]:
    entry, mistake = done.entry, done.mistake
    serial = done.cell if entry.serial is None else entry.serial
    made = entry.outcome is Outcome.MADE
    return {
        "line": done.line,
        "serial": serial,
        "check": check_characters(serial) if made else None,
        "outcome": entry.outcome.value,
        "attempt": entry.attempt,
        "hardware": entry.hardware,
        "trims": [
            {"item": trim.item, "value": trim.value, "measured": trim.measured, "kept": trim.kept}
            for trim in entry.trims
        ],
        "not_taken": list(done.ignored),
        "file": entry.file,
        "image": entry.image,
        "column": None if mistake is None else mistake.column,
        "cell": None if mistake is None else mistake.cell,
        "reason": None if mistake is None else mistake.sentence,
    }
