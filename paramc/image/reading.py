"""Image files read: Intel HEX, S-record and raw binary, told apart by what stands in them.

Every input is hostile until checked. `read_image` never raises and never guesses: what it cannot vouch for
is a `Problem`, and what it passed over is a `Note`.

Where the published forms leave a case open, or common readers differ, the answer here is the one that cannot
lose or change a byte in silence:

- nothing may stand after the end record, since some readers load it and others drop it;
- a byte is given once, since some readers take the first, some the last and some refuse;
- in the segmented flavour of Intel HEX no record runs past 64 KiB, since some readers wrap there;
- an S-record's type digit is outside its checksum, so types that do not match one another are noted.

Sources: Intel, Hexadecimal Object File Format Specification, revision A, 1988; srec_intel(5) and
srec_motorola(5) of SRecord.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple, TypeAlias, assert_never

from paramc.frozen import dataclass
from paramc.image.file_records import (
    HEX_DATA,
    HEX_END,
    HEX_LINEAR,
    HEX_SEGMENT,
    SREC_ADDRESS_BYTES,
    counted,
    form_of_record,
    hex_record,
    srec_record,
)
from paramc.image.files import ADDRESS_SPACE, Chunk, Form

MOST_BYTES: Final = 2 << 20
"""Largest file read: 64 KiB at one byte a record fill 1.2 MiB in the longest form, S3 with CRLF."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a file is refused, as a whole sentence; `line` counts from 1, None where no line is at fault."""

    line: int | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Note:
    """What was passed over or looks odd, as a whole sentence; `line` as in `Problem`."""

    line: int | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Loaded:
    """A file's bytes: chunks by address, none empty, none touching another; and what there is to say."""

    form: Form
    chunks: tuple[Chunk, ...]
    notes: tuple[Note, ...]

    def origin(self, hex_at: int) -> int:
        """The address of the image's first byte: `hex_at`, but 0 in raw binary, which has no addresses."""
        return 0 if self.form is Form.RAW else hex_at


@dataclass(frozen=True, slots=True)
class Flat:
    """A memory as one run of bytes, and how far the chunks made it.

    gaps: ranges of offsets that no chunk gave, in order; `data` is blank there.
    outside: what lay before the first or behind the last byte, in order.
    """

    data: bytes
    gaps: tuple[range, ...]
    outside: tuple[Chunk, ...]


class _Piece(NamedTuple):
    """One data record in its place, and the line that it stands in."""

    address: int
    line: int
    data: bytes


_Lines: TypeAlias = Sequence[tuple[int, bytes]]

_TEXT: Final = bytes(range(0x20, 0x7F)) + b"\t\r\n"
_BYTE_ORDER_MARKS: Final = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)


def read_image(blob: bytes) -> Loaded | Problem:
    """The bytes that a file carries, whatever its form.

    A file is text when its first line that is not blank is a whole record. It is also text when nearly all
    of it is printable and it begins like a record or has a whole record in some line: then the lines that
    are no records are problems. Everything else is raw binary, one chunk at address 0.
    """
    if not blob:
        return Problem(None, "The file is empty.")
    if len(blob) > MOST_BYTES:
        return Problem(None, f"The file is larger than {MOST_BYTES >> 20} MiB, the most for an image file.")
    if not blob.strip():
        return Problem(None, "The file holds nothing but blank space.")
    text, notes = _without_mark(blob)
    stripped = ((number, line.strip(b" \t")) for number, line in enumerate(text.splitlines(), 1))
    lines = [(number, line) for number, line in stripped if line]
    match _form(text, lines):
        case Form.HEX:
            return _read_hex(lines, notes)
        case Form.SREC:
            return _read_srec(lines, notes)
        case Form.RAW:
            odd = Note(None, "The file is nearly all plain text without a record; it is read as raw binary.")
            return Loaded(Form.RAW, (Chunk(0, blob),), (odd,) if _mostly_text(text) else ())
        case never:
            assert_never(never)


def flatten(chunks: Sequence[Chunk], start: int, size: int, blank: int) -> Flat:
    """The `size` bytes from address `start` on; `blank`, 0 to 255, stands where no chunk gives one.

    `chunks` are sorted by address and do not overlap, as in `Loaded`.
    """
    memory = bytearray((blank,)) * size
    gaps: list[range] = []
    outside: list[Chunk] = []
    reached = 0
    for chunk in chunks:
        low = max(start - chunk.address, 0)
        high = max(start + size - chunk.address, low)
        before, inside, behind = chunk.data[:low], chunk.data[low:high], chunk.data[high:]
        if before:
            outside.append(Chunk(chunk.address, before))
        if inside:
            first = chunk.address + low - start
            memory[first : first + len(inside)] = inside
            if first > reached:
                gaps.append(range(reached, first))
            reached = first + len(inside)
        if behind:
            outside.append(Chunk(chunk.address + high, behind))
    if reached < size:
        gaps.append(range(reached, size))
    return Flat(bytes(memory), tuple(gaps), tuple(outside))


def _without_mark(blob: bytes) -> tuple[bytes, list[Note]]:
    """The text behind a byte order mark in one byte a character, for editors and shells that write one.

    What is beyond one byte becomes 0xFF, which no record has.
    """
    for mark, codec in _BYTE_ORDER_MARKS:
        if blob.startswith(mark):
            characters = blob[len(mark) :].decode(codec, "replace")
            note = Note(1, f"The file begins with a byte order mark; it is read as {codec.upper()} text.")
            return bytes(min(ord(character), 0xFF) for character in characters), [note]
    return blob, []


def _form(text: bytes, lines: _Lines) -> Form:
    if not lines:
        return Form.RAW
    first = lines[0][1]
    whole = form_of_record(first)
    if whole is Form.RAW and _mostly_text(text):
        if first[:1] == b":":
            return Form.HEX
        if first[:1] == b"S" and first[1:2].isdigit():
            return Form.SREC
        forms = (form_of_record(line) for _, line in lines)
        return next((form for form in forms if form is not Form.RAW), Form.RAW)
    return whole


def _mostly_text(blob: bytes) -> bool:
    """Whether at least seven bytes of eight are printable ASCII or part a line."""
    return 8 * len(blob.translate(None, _TEXT)) <= len(blob)


def _after_end(ended: int) -> str:
    return f"This line stands after the end record in line {ended}; nothing may follow it."


def _read_hex(lines: _Lines, notes: list[Note]) -> Loaded | Problem:
    pieces: list[_Piece] = []
    base = 0
    flavour: int | None = None
    ended: int | None = None
    start: int | None = None
    crossing: int | None = None
    for number, line in lines:
        if ended is not None:
            return Problem(number, _after_end(ended))
        record = hex_record(line)
        if isinstance(record, str):
            return Problem(number, record)
        kind, address, data = record
        if kind == HEX_DATA:
            if address + len(data) > 1 << 16:
                if flavour == HEX_SEGMENT:
                    return Problem(number, "This record runs past the end of its 64 KiB segment.")
                crossing = crossing or number
            pieces.append(_Piece(base + address, number, data))
        elif kind == HEX_END:
            ended = number
            start = start or (number if address else None)
        elif kind in (HEX_SEGMENT, HEX_LINEAR):
            if flavour not in (None, kind):
                return Problem(
                    number,
                    f"This record of type {kind:02X} follows one of type {flavour:02X}; "
                    "a file has segments or linear addresses, not both.",
                )
            flavour = kind
            base = int.from_bytes(data, "big") << (4 if kind == HEX_SEGMENT else 16)
        elif any(data):
            start = start or number
    if crossing is not None:
        notes.append(_crossing(crossing))
    return _finished(Form.HEX, pieces, lines, notes, start, complete=ended is not None)


def _read_srec(lines: _Lines, notes: list[Note]) -> Loaded | Problem:
    pieces: list[_Piece] = []
    counts: list[tuple[int, int]] = []
    kinds: set[int] = set()
    ended: int | None = None
    start: int | None = None
    crossing: int | None = None
    for number, line in lines:
        if ended is not None:
            return Problem(number, _after_end(ended))
        record = srec_record(line)
        if isinstance(record, str):
            return Problem(number, record)
        kind, address, data = record
        if kind == 0:
            if number != lines[0][0]:
                return Problem(number, "This is a header record, S0, but not the first record of the file.")
            if address:
                notes.append(Note(number, f"The header record has the address {address:04X}, not 0000."))
        elif kind <= 3:
            kinds.add(kind)
            if address + len(data) > 1 << 8 * SREC_ADDRESS_BYTES[kind]:
                crossing = crossing or number
            pieces.append(_Piece(address, number, data))
        elif kind <= 6:
            counts.append((number, address))
        else:
            ended = number
            kinds.add(10 - kind)
            start = number if address else None
    for number, count in counts:
        if count != len(pieces):
            return Problem(
                number,
                f"This record counts {counted(count, 'data record')}, but the file has {len(pieces)}.",
            )
    if len(kinds) > 1:
        notes.append(
            Note(
                None,
                "The types of the data and end records do not all match one another; "
                "some tools write so, but a damaged type digit would look the same.",
            )
        )
    if crossing is not None:
        notes.append(_crossing(crossing))
    return _finished(Form.SREC, pieces, lines, notes, start, complete=ended is not None or bool(counts))


def _crossing(line: int) -> Note:
    return Note(
        line,
        "This record runs across a 64 KiB edge, where some readers turn back by 64 KiB; "
        "it is read on at the next address.",
    )


def _finished(
    form: Form, pieces: list[_Piece], lines: _Lines, notes: list[Note], start: int | None, *, complete: bool
) -> Loaded | Problem:
    """The pieces put together, with the notes that both forms share."""
    chunks = _merged(pieces)
    if isinstance(chunks, Problem):
        return chunks
    if not chunks:
        return Problem(None, "No record of the file has data.")
    lower = next((number for number, line in lines if line != line.upper()), None)
    if lower is not None:
        notes.append(Note(lower, "The file has digits in lower case; they are read like upper case."))
    if start is not None:
        notes.append(Note(start, "The start address of a program in this record is not used."))
    if not complete:
        notes.append(Note(None, "The file has no end record, so it may have been cut short."))
    gaps = [range(low.end, high.address) for low, high in pairwise(chunks)]
    if gaps:
        some, missing = counted(len(gaps), "gap"), counted(sum(map(len, gaps)), "byte")
        first = f"0x{gaps[0].start:04X} to 0x{gaps[0].stop - 1:04X}"
        notes.append(Note(None, f"The data has {some}, {missing} in all; the first is {first}."))
    return Loaded(form, chunks, tuple(notes))


def _merged(pieces: list[_Piece]) -> tuple[Chunk, ...] | Problem:
    """Pieces by address, those that touch made one chunk."""
    runs: list[list[_Piece]] = []
    end = -1
    for piece in sorted(piece for piece in pieces if piece.data):
        if piece.address < end:
            return _overlap(runs[-1][-1], piece)
        if piece.address > end:
            runs.append([])
        runs[-1].append(piece)
        end = piece.address + len(piece.data)
        if end > ADDRESS_SPACE:
            return Problem(piece.line, "This record runs past 0xFFFFFFFF, the highest address.")
    return tuple(Chunk(run[0].address, b"".join(piece.data for piece in run)) for run in runs)


def _overlap(low: _Piece, high: _Piece) -> Problem:
    """Both give the byte at the address of `high`, the one that begins later in memory."""
    earlier, later = sorted((low, high), key=lambda piece: piece.line)
    for address in range(high.address, min(low.address + len(low.data), high.address + len(high.data))):
        before, now = earlier.data[address - earlier.address], later.data[address - later.address]
        if before != now:
            return Problem(
                later.line,
                f"This record gives 0x{now:02X} at address 0x{address:04X}, "
                f"but line {earlier.line} gives 0x{before:02X} there.",
            )
    return Problem(
        later.line,
        f"This record gives the byte at address 0x{high.address:04X} once more, after line {earlier.line}; "
        "a byte is given once.",
    )
