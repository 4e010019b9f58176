"""The ship record as a file: locked by whoever stamps, added to and never rewritten."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Callable, Iterable, Iterator

from paramc.cli.files import Trouble, because, write_whole
from paramc.cli.say import plain
from paramc.image.log import LONGEST_LINE, Attempt, Entry, read_line


class ShipLog:
    """A log that is open and locked. cut: how many of its lines a cut has left unfinished, once read."""

    def __init__(self, path: str, handle: int) -> None:
        self.path = path
        self._handle = handle
        self.cut = 0

    def entries(self) -> Iterator[tuple[int, Entry]]:
        """Every entry with the byte that its line begins at. Raises Trouble at a line that is none."""

        def count() -> None:
            self.cut += 1

        yield from entries(self.path, count)

    def attempt(self, offset: int) -> Attempt:
        """The attempt whose line begins at a byte, as entries told it."""
        return attempt_at(self.path, offset)

    def append(self, lines: Iterable[bytes]) -> None:
        """Adds lines behind the last one and waits until the disk has them: all of them, or none and OSError.

        What a cut has left of a line is ended first, so that no line is written into another.
        """
        blob = b"".join(lines)
        if not blob:
            return
        start = os.fstat(self._handle).st_size
        if start and os.pread(self._handle, 1, start - 1) != b"\n":
            blob = b"\n" + blob
        try:
            write_whole(self._handle, blob)
            os.fsync(self._handle)
        except OSError as error:
            # Nobody has read these lines: the log is locked, and what came before them stays as it is.
            with contextlib.suppress(OSError):
                os.ftruncate(self._handle, start)
            raise OSError(error.errno, error.strerror, self.path) from error


@contextlib.contextmanager
def ship_log(path: str) -> Iterator[ShipLog]:
    """A log for adding to, made where there is none. Raises Trouble where another run has it."""
    import fcntl

    try:
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC, 0o666)
    except OSError as error:
        folder = os.path.dirname(path)
        if folder and not os.path.isdir(folder):
            raise Trouble(f"{plain(path)} cannot be made: there is no folder {plain(folder)}.") from error
        raise Trouble(because(path, "cannot be opened", error)) from error
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise Trouble(f"{plain(path)} is no file, and a log is one.")
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise Trouble(
                f"{plain(path)} is in use by another run of stamp; wait until it has ended, or give this"
                " station a log of its own."
            ) from None
        except OSError as error:
            raise Trouble(because(path, "cannot be locked", error)) from error
        yield ShipLog(path, handle)
    finally:
        os.close(handle)


def entries(path: str, cut: Callable[[], None]) -> Iterator[tuple[int, Entry]]:
    """Every entry of a log with the byte that its line begins at; cut is called for each line that is only
    the beginning of one. Raises Trouble."""
    try:
        with open(path, "rb") as file:
            offset, number = 0, 0
            while line := file.readline(LONGEST_LINE + 2):
                number += 1
                if line != b"\n":
                    entry = read_line(line.removesuffix(b"\n"))
                    if isinstance(entry, str):
                        raise Trouble(f"{plain(path)} is no log of stamp: line {number}. {plain(entry)}")
                    if entry is None:
                        cut()
                    else:
                        yield offset, entry
                offset += len(line)
    except OSError as error:
        raise Trouble(because(path, "cannot be read", error)) from error


def attempt_at(path: str, offset: int) -> Attempt:
    """The attempt whose line begins at a byte of a log. Raises Trouble where it is not there any more."""
    try:
        with open(path, "rb") as file:
            file.seek(offset)
            entry = read_line(file.readline(LONGEST_LINE + 2).removesuffix(b"\n"))
    except OSError as error:
        raise Trouble(because(path, "cannot be read", error)) from error
    if not isinstance(entry, Attempt):
        raise Trouble(f"{plain(path)} has changed while it was read; run the command again.")
    return entry
