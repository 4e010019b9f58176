"""Files in and out: bounded reading, and writing that leaves all or nothing."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import IO

from paramc.cli.say import plain
from paramc.frozen import dataclass
from paramc.text.diagnostic import Checked, Diagnostic
from paramc.text.source import Source

LARGEST_SOURCE = 4 << 20
"""Bytes; the parser takes 1 MiB of characters, which are at most four bytes each."""


_BLOCK = 1 << 16


class Trouble(Exception):
    """A file or disk at fault. The text is a whole sentence, safe for a terminal."""


def read_bytes(path: str, largest: int) -> bytes:
    """The bytes of a file of at most so many. Raises Trouble with a sentence."""
    try:
        with open(path, "rb") as file:
            # Asked for all at once, a file of a few bytes would take room for the largest.
            blob = bytearray()
            while len(blob) <= largest and (block := file.read(min(_BLOCK, largest + 1 - len(blob)))):
                blob += block
    except OSError as error:
        raise Trouble(because(path, "cannot be read", error)) from error
    if len(blob) > largest:
        raise Trouble(f"{plain(path)} is longer than {largest} bytes, the most that is read.")
    return bytes(blob)


def read_source(path: str) -> Checked[Source]:
    """A product file as text. Raises Trouble where there is no file to read."""
    from paramc.syntax.rules import FILE_FORM

    blob = read_bytes(path, LARGEST_SOURCE)
    name = Path(path).as_posix()
    try:
        text = blob.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = blob[: error.start].decode("utf-8", "replace")
        source = Source(name, before)
        line = source.line_of(len(before))
        sentence = (
            f"{plain(name)} is not UTF-8 text:"
            f" byte {error.start + 1}, on line {line}, belongs to no character."
        )
        return Checked(None, (Diagnostic(FILE_FORM, sentence, try_="save the file as UTF-8"),))
    return Checked(Source(name, text))


@dataclass(frozen=True, slots=True)
class Output:
    """One file to write: its name inside the folder, and its bytes."""

    name: str
    data: bytes


def write_all(folder: str, outputs: Sequence[Output], record: str, *, force: bool) -> None:
    """Writes every file of a set into a folder, each whole, and none where one cannot be written.

    record: the name of a small file in the folder that holds the digests of what was written, in this
    run and earlier ones, by which the next run knows its own files from a person's. Raises Trouble
    and leaves the folder as it was: a folder that cannot be made, a disk that is full, a file that
    paramc did not write (unless force).
    """
    target = Path(folder)
    try:
        target.mkdir(parents=True, exist_ok=True)
        record_path = target / record
        known = _known(record_path)
        if not force:
            _refuse_strangers(target, outputs, known)
        names = {output.name for output in outputs}
        mine = {(_digest(output.data), output.name) for output in outputs}
        mine |= {entry for entry in known if entry[1] not in names}
        # Both generations stand in the record while files are being replaced: were we stopped
        # half way, the next run would know each of them.
        _replace(
            [
                (record_path, _record_bytes(known | mine)),
                *((target / output.name, output.data) for output in outputs),
                (record_path, _record_bytes(mine)),
            ]
        )
    except OSError as error:
        raise Trouble(because(folder, "cannot be written to", error)) from error


def write_one(path: str, data: bytes, *, force: bool) -> None:
    """Writes one file whole, or raises Trouble and leaves what was there."""
    target = Path(path)
    try:
        if target.exists() and not force and target.read_bytes() != data:
            raise Trouble(f"{plain(path)} is there already; say --force to write over it.")
        target.parent.mkdir(parents=True, exist_ok=True)
        _replace([(target, data)])
    except OSError as error:
        raise Trouble(because(path, "cannot be written", error)) from error


def write_whole(handle: int, data: bytes) -> None:
    """Writes every byte to an open file, or raises OSError."""
    view = memoryview(data)
    while view:
        view = view[os.write(handle, view) :]


class Growing:
    """A file that is written piece by piece beside its target, and takes its place once it is whole."""

    def __init__(self, folder: Path, name: str) -> None:
        self.target = folder / name
        self._part = folder / f".paramc-{name}.part"
        self._digest = hashlib.sha256()
        self._handle: int | None = open_part(self._part)

    def write(self, data: bytes) -> None:
        """Adds to the part. Raises OSError."""
        assert self._handle is not None
        self._digest.update(data)
        write_whole(self._handle, data)

    def place(self, record: str, *, force: bool) -> None:
        """Moves the part to its target, by the rules of write_all, of whose record it is one more entry.

        Raises Trouble where the target is a stranger's, OSError where the disk is at fault."""
        assert self._handle is not None
        os.fsync(self._handle)
        self._close()
        digest, record_path = self._digest.hexdigest(), self.target.parent / record
        known = _known(record_path)
        entry = (digest, self.target.name)
        if not force and self.target.exists():
            with open(self.target, "rb") as file:
                there = hashlib.file_digest(file, "sha256").hexdigest()
            if there != digest and (there, self.target.name) not in known:
                raise Trouble(_stranger(self.target))
        if entry not in known:
            _note(record_path, _record_bytes({*known, entry}))
        os.replace(self._part, self.target)

    def drop(self) -> None:
        """Removes the part, if it is still there; may be called at any time."""
        self._close()
        with contextlib.suppress(OSError):
            self._part.unlink(missing_ok=True)

    def _close(self) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None


def _note(record: Path, data: bytes) -> None:
    """Replaces a record by way of a part whose name is always the same, so that one which a kill has left is
    gone after the next run."""
    part = record.parent / f".paramc{record.name}.part"
    handle = open_part(part)
    try:
        write_whole(handle, data)
        os.fsync(handle)
        os.replace(part, record)
    finally:
        os.close(handle)
        part.unlink(missing_ok=True)


def scratch(folder: Path) -> IO[bytes]:
    """A file without a name, for what is too long to be held in memory; it is gone when it is closed."""
    import tempfile  # slow to import, and a check writes nothing

    return tempfile.TemporaryFile(dir=folder)


def open_part(path: str | Path) -> int:
    """A new file for writing in place of what an earlier run has left of it, never through a link."""
    return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW | os.O_CLOEXEC, 0o666)


def _replace(files: Sequence[tuple[Path, bytes]]) -> None:
    """Writes all to parts beside their targets first, and moves them only when every one is on disk."""
    parts: list[tuple[Path, Path]] = []
    try:
        for target, data in files:
            parts.append((_part(target.parent, data), target))
        while parts:
            os.replace(*parts[0])
            parts.pop(0)
    finally:
        for part, _ in parts:
            part.unlink(missing_ok=True)


def _part(folder: Path, data: bytes) -> Path:
    import tempfile

    handle, name = tempfile.mkstemp(prefix=".paramc-", suffix=".part", dir=folder)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes files that only their owner may read; others are to get what they usually would.
        os.chmod(name, 0o666 & ~_umask())
    except BaseException:
        os.unlink(name)
        raise
    return Path(name)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _known(record: Path) -> set[tuple[str, str]]:
    with contextlib.suppress(FileNotFoundError):
        lines = record.read_text(encoding="utf-8", errors="replace").splitlines()
        return {(line[:64], line[66:]) for line in lines if len(line) > 66}
    return set()


def _record_bytes(entries: Iterable[tuple[str, str]]) -> bytes:
    return "".join(f"{digest}  {name}\n" for digest, name in sorted(entries, key=lambda e: e[::-1])).encode()


def _refuse_strangers(target: Path, outputs: Sequence[Output], known: set[tuple[str, str]]) -> None:
    for output in outputs:
        path = target / output.name
        if not path.exists():
            continue
        there = _digest(path.read_bytes())
        if (there, output.name) not in known and there != _digest(output.data):
            raise Trouble(f"{_stranger(path)} Nothing is written.")


def _stranger(path: Path) -> str:
    return (
        f"{plain(str(path))} is not as paramc wrote it, so it is left alone. Move it away, or say --force to"
        " write over it."
    )


def because(path: str, what: str, error: OSError) -> str:
    """A sentence on a file or folder at fault."""
    reason = (error.strerror or type(error).__name__).lower()
    return f"{plain(path) or 'A file without a name'} {what}: {reason}."
