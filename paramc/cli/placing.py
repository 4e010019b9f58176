"""How the images of a run reach the disk and the log: a file a unit, or all in one for a gang programmer."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections import deque
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from paramc.cli.files import Growing, Trouble, open_part, read_bytes, scratch, write_whole
from paramc.cli.images import FORMS, image_writer
from paramc.cli.say import plain
from paramc.cli.ship_log import ShipLog
from paramc.frozen import dataclass
from paramc.image.batch import Mistake
from paramc.image.gang import gang_pieces, room
from paramc.image.log import Attempt, line_of
from paramc.image.reading import MOST_BYTES, Loaded, flatten, read_image
from paramc.image.stamp import Unit
from paramc.layout.layout import Layout

GROUP: Final = 250
"""Units whose files are waited for together: one wait for each would be ten times slower."""

_LOG_BLOCK: Final = 1 << 18


@dataclass(frozen=True, slots=True)
class Done:
    """What became of a line of the list. cell: its serial as it stands there. unit, image: where one was
    made; mistake: where none was. ignored: trims of the list that were measured before, and stay."""

    line: int
    cell: str
    entry: Attempt
    unit: Unit | None = None
    image: bytes | None = None
    mistake: Mistake | None = None
    ignored: tuple[str, ...] = ()


class Stopped(Exception):
    """The disk is at fault, and so is the rest of the run. done: what had been made and logged before."""

    def __init__(self, error: OSError, done: Sequence[Done] = ()) -> None:
        super().__init__(error)
        self.error = error
        self.done = done


def image_digest(image: bytes) -> str:
    """SHA-256 of a whole memory, in hexadecimal, as logs have it."""
    return hashlib.sha256(image).hexdigest().upper()


class OneEach:
    """A file a unit, `NAME.SERIAL.hex`."""

    def __init__(self, layout: Layout, folder: Path, ending: str, log: ShipLog, force: bool) -> None:
        self._layout, self._ending, self._log, self._force = layout, ending, log, force
        self._file_of = image_writer(layout, FORMS[ending])
        # Texts and no Paths: these have the interpreter keep every name for good.
        self._folder = str(folder)

    def name(self, serial: str) -> str:
        """The name of the file of a unit."""
        return f"{self._layout.product.name}.{serial}.{self._ending}"

    def stranger(self, serial: str, image: bytes, before: str | None) -> str | None:
        """Why the file of a unit is not to be written over, as a sentence; None where it may be."""
        path = os.path.join(self._folder, self.name(serial))
        if self._force or not os.path.lexists(path):
            return None
        shown = plain(path)
        try:
            there = read_image(read_bytes(path, MOST_BYTES))
        except Trouble as trouble:
            return str(trouble)
        if isinstance(there, Loaded):
            chip = self._layout.product.chip
            memory = flatten(there.chunks, there.origin(chip.hex_at), chip.size, chip.blank).data
            if memory == image or image_digest(memory) == before:
                return None
        return (
            f"{shown} is not as paramc wrote it, so it is left alone. Move it away, or say --force to write"
            " over it."
        )

    def take(self, group: Sequence[Done]) -> None:
        """Writes the images of a group, each whole, and then its lines into the log. Raises Stopped."""
        moves: list[tuple[str, str]] = []
        placed = 0
        try:
            for one in group:
                if one.image is not None:
                    moves.append(self._write(one))
            if moves:
                os.sync()
            for part, target in moves:
                os.replace(part, target)
                placed += 1
            self._log.append([line_of(one.entry) for one in group])
        except OSError as error:
            raise Stopped(error, self._rescued(group, placed)) from error
        finally:
            for part, _ in moves[placed:]:
                _remove(part)

    def _write(self, one: Done) -> tuple[str, str]:
        assert one.image is not None and one.entry.file is not None
        target = os.path.join(self._folder, one.entry.file)
        part = os.path.join(self._folder, f".paramc-{one.entry.file}.part")
        handle = open_part(part)
        try:
            write_whole(handle, self._file_of(one.image))
        except OSError:
            _remove(part)
            raise
        finally:
            os.close(handle)
        return part, target

    def _rescued(self, group: Sequence[Done], placed: int) -> Sequence[Done]:
        """The units of a group that did not get through whose files had their places: they are logged too,
        if the disk takes that much."""
        saved: list[Done] = []
        for one in group:
            if one.image is not None:
                if not placed:
                    break
                placed -= 1
            saved.append(one)
        try:
            self._log.append([line_of(one.entry) for one in saved])
        except OSError:
            return ()
        return saved

    def finish(self) -> None:
        """Nothing is left to be done."""

    def drop(self) -> None:
        """Nothing is left to be taken back."""


def _remove(part: str) -> None:
    with contextlib.suppress(FileNotFoundError):
        os.unlink(part)


class Together:
    """All images in one file; it is there, and its units are logged, when every one is in it."""

    def __init__(
        self, layout: Layout, folder: Path, name: str, ending: str, log: ShipLog, units: int, force: bool
    ) -> None:
        form = FORMS[ending]
        most = room(layout, form)
        if most is not None and units > most:
            raise Trouble(
                f"The list has {units} units, and one file of the form {form.value} has room for {most};"
                " say --form bin, or write the list as several."
            )
        self._record, self._log, self._force = f".{layout.product.name}.stamped", log, force
        self._name = name
        self._lines = scratch(folder)
        try:
            self._file = Growing(folder, name)
        except BaseException:
            self._lines.close()
            raise
        self._waiting: deque[bytes] = deque()
        self._any = self._full = False
        self._pieces = gang_pieces(layout, self._images(), units, form)

    def name(self, serial: str) -> str:
        """The name of the file that has the image of a unit."""
        return self._name

    def stranger(self, serial: str, image: bytes, before: str | None) -> str | None:
        """Nothing stands in the way of a single unit."""
        return None

    def take(self, group: Sequence[Done]) -> None:
        """Adds the images of a group. Raises Stopped."""
        try:
            self._waiting.extend(one.image for one in group if one.image is not None)
            self._any = self._any or bool(self._waiting)
            while self._waiting:
                self._file.write(next(self._pieces))
            self._lines.writelines(line_of(one.entry) for one in group)
        except OSError as error:
            raise Stopped(error) from error

    def finish(self) -> None:
        """Ends the file, gives it its place, and then logs its units. Raises Stopped and Trouble."""
        try:
            self._full = True
            if self._any:
                for piece in self._pieces:
                    self._file.write(piece)
                self._file.place(self._record, force=self._force)
            self._lines.seek(0)
            while lines := self._lines.readlines(_LOG_BLOCK):
                self._log.append(lines)
        except OSError as error:
            raise Stopped(error) from error

    def drop(self) -> None:
        """Removes what is not finished; may be called at any time."""
        self._lines.close()
        self._file.drop()

    def _images(self) -> Iterator[bytes]:
        """The images in their order; asked for one only when one is waiting, or none is to come any more."""
        while self._waiting or not self._full:
            yield self._waiting.popleft()


Placing = OneEach | Together
