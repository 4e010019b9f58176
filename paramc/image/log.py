"""The ship record: what is said of every attempt to stamp a unit, one JSON line each.

log.schema.json beside this file is the published form of a line. A log is only ever added to, and every line
stands by itself, so the logs of several stations are joined by putting one behind the other.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator, Sequence
from enum import Enum
from itertools import islice
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from paramc.frozen import dataclass
from paramc.layout.codec import Codec, Wrong
from paramc.layout.json_form import read_json

FORMAT: Final = 1
"""The number of the form of a line."""

LONGEST_LINE: Final = 1 << 20
"""Bytes."""

RESERVED_IN_A_LINE: Final = 500
"""Serials that one line reserves at the most."""

_BEGIN: Final = b'{"format":'
_SERIAL: Final = re.compile(r"[A-Z][A-Z0-9-]{0,254}")
_DIGEST: Final = re.compile(r"[0-9A-F]{64}")
_TIME: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
_TEXTS: Final = re.compile(rb'"(?:[^"\\\\]|\\\\.)*(?:"|\\\\?\\Z)')
_MOST: Final = 1 << 16
_NO_TEXT: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


class EntryKind(Enum):
    """What a line is."""

    RESERVED = "reserved"
    ATTEMPT = "attempt"


class Outcome(Enum):
    """How an attempt ended."""

    MADE = "made"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Run:
    """What every line of one run says alike. operator, station: null where not given. code: of the product,
    in hexadecimal. release: the digest that stands in the release file."""

    operator: str | None
    station: int | None
    product: str
    code: str
    revision: int
    release: str


@dataclass(frozen=True, slots=True)
class LoggedTrim:
    """A trim of an image. value: as a person writes it. measured: else it is nominal. kept: from an earlier
    attempt, whatever the list of this one said."""

    item: str
    value: str
    measured: bool
    kept: bool


@dataclass(frozen=True, slots=True)
class Reserved:
    """Serials that belong to units from now on, whatever becomes of these. time: UTC, to the millisecond."""

    format: int
    kind: EntryKind
    time: str
    run: Run
    serials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt to stamp a unit.

    serial: null where the list had none that could be one. attempt: from 1 for each serial. hardware: null
    where the product has no board revisions. image: SHA-256, in hexadecimal, of the whole memory; file: its
    name; both null where the attempt failed. reason: why it failed, a whole sentence, else empty.
    """

    format: int
    kind: EntryKind
    time: str
    run: Run
    outcome: Outcome
    serial: str | None
    attempt: int
    hardware: str | None
    trims: tuple[LoggedTrim, ...]
    image: str | None
    file: str | None
    reason: str


Entry: TypeAlias = Reserved | Attempt

_CODECS: Final = MappingProxyType(
    {
        EntryKind.RESERVED.value: Codec(Reserved, {}),
        EntryKind.ATTEMPT.value: Codec(Attempt, {}),
    }
)


def line_of(entry: Entry) -> bytes:
    """The line of an entry, with the line feed that ends it."""
    value = _CODECS[entry.kind.value].encode(entry)
    return (json.dumps(value, ensure_ascii=True, separators=(",", ":")) + "\n").encode("ascii")


def reservation(time: str, run: Run, serials: Iterator[str]) -> Iterator[bytes]:
    """The lines that reserve serials, some hundreds a line."""
    while part := tuple(islice(serials, RESERVED_IN_A_LINE)):
        yield line_of(Reserved(FORMAT, EntryKind.RESERVED, time, run, part))


def read_line(line: bytes) -> Entry | str | None:
    """The entry of a line without its line feed. None where it is what a cut has left of a line; a sentence
    where it is no line of a log. Never raises.

    Where a line was cut and the next one was written right behind it, the next one is read.
    """
    if len(line) > LONGEST_LINE:
        return f"It has more than {LONGEST_LINE} bytes."
    line = line.rstrip(b"\r")
    read = read_json(line)
    if isinstance(read, str):
        behind = line.rfind(_BEGIN)
        if behind > 0:
            return read_line(line[behind:])
        return None if _is_cut(line) else read
    [value] = read
    if not isinstance(value, dict) or value.get("kind") not in _CODECS:
        return "It is neither a reservation nor an attempt."
    if value.get("format") != FORMAT:
        return f"It has another format than {FORMAT}, which this paramc reads."
    try:
        entry: Entry = _CODECS[value["kind"]].decode(value)
    except Wrong as wrong:
        return str(wrong).replace("The file", "It", 1)
    return _fault(entry) or entry


def _is_cut(line: bytes) -> bool:
    """Whether a line is the beginning of one of ours: its first brace is never closed."""
    if not line.startswith(_BEGIN):
        return _BEGIN.startswith(line)
    braces = _TEXTS.sub(b"", line)
    return braces.count(b"{") > braces.count(b"}")


def _fault(entry: Entry) -> str | None:
    """What a type cannot say of an entry."""
    serials = entry.serials if isinstance(entry, Reserved) else (entry.serial,)
    if any(serial is not None and not _SERIAL.fullmatch(serial) for serial in serials):
        return "A serial in it is none."
    if not _TIME.fullmatch(entry.time):
        return "Its time is not UTC to the millisecond."
    if not _DIGEST.fullmatch(entry.run.release):
        return "The digest of its release is none."
    if isinstance(entry, Attempt):
        made = entry.outcome is Outcome.MADE
        if not 1 <= entry.attempt < _MOST:
            return "The number of its attempt is none."
        if made != (entry.image is not None) or (made and entry.serial is None):
            return "An image belongs to what was made, and to nothing else."
        if entry.image is not None and not _DIGEST.fullmatch(entry.image):
            return "The digest of its image is none."
    return None


def clean(text: str) -> str:
    """A text from a list as it may stand in a log: what cannot be shown is written as <U+0007>."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        f"<U+{ord(char):04X}>" if unicodedata.category(char) in _NO_TEXT else char for char in text
    )


def attempt_of(
    time: str, run: Run, serial: str, number: int, hardware: str | None, trims: Sequence[LoggedTrim],
    image: str, file: str,
) -> Attempt:
    """The entry of a unit that was made."""
    return Attempt(
        FORMAT, EntryKind.ATTEMPT, time, run, Outcome.MADE, serial, number, hardware, tuple(trims), image,
        file, "",
    )


def failure_of(time: str, run: Run, serial: str | None, number: int, reason: str) -> Attempt:
    """The entry of a unit that failed."""
    return Attempt(
        FORMAT, EntryKind.ATTEMPT, time, run, Outcome.FAILED, serial, number, None, (), None, None,
        clean(reason),
    )


def log_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of a line."""
    schemas = [codec.schema() for codec in _CODECS.values()]
    definitions = {name: one for schema in schemas for name, one in schema["$defs"].items()}
    for name, kind in (("Reserved", EntryKind.RESERVED), ("Attempt", EntryKind.ATTEMPT)):
        of = definitions[name]["properties"]
        of["format"] = {"const": FORMAT}
        of["kind"] = {"const": kind.value}
        of["time"] = {"type": "string", "pattern": f"^{_TIME.pattern}$"}
    serial = {"type": "string", "pattern": f"^{_SERIAL.pattern}$"}
    digest = {"type": "string", "pattern": f"^{_DIGEST.pattern}$"}
    definitions["Reserved"]["properties"]["serials"]["items"] = serial
    attempt = definitions["Attempt"]["properties"]
    attempt["serial"] = {"anyOf": [serial, {"type": "null"}]}
    attempt["image"] = {"anyOf": [digest, {"type": "null"}]}
    attempt["attempt"] = {"type": "integer", "minimum": 1, "exclusiveMaximum": _MOST}
    definitions["Run"]["properties"]["release"] = digest
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:paramc:log:{FORMAT}",
        "title": "A line of the ship record",
        "anyOf": [{"$ref": schema["$ref"]} for schema in schemas],
        "$defs": dict(sorted(definitions.items())),
    }


def schema_file() -> bytes:
    """The bytes of log.schema.json."""
    return (json.dumps(log_schema(), indent=1, ensure_ascii=True) + "\n").encode("ascii")
