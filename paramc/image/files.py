"""Image files written: Intel HEX and S-record, as bytes ready for the disk.

An image is one contiguous run of bytes at the address that `hex at` names. Both forms are text whose
records hold at most 16 data bytes, and neither form is canonical: compare decoded memory, never text.

Sources: Intel, Hexadecimal Object File Format Specification, revision A, 1988; srec_intel(5) and
srec_motorola(5) of SRecord.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from enum import Enum
from itertools import pairwise
from typing import Final

from paramc.frozen import dataclass

ADDRESS_SPACE: Final = 1 << 32
"""Both forms have addresses of at most 32 bits."""

LONGEST_HEADER: Final = 252
"""Characters in the header of an S-record file: its length byte also counts two address bytes and a check."""

_ROW: Final = 16
_EDGE: Final = 1 << 16
_NEGATED: Final = bytes(-byte & 0xFF for byte in range(256))
_INVERTED: Final = bytes(~byte & 0xFF for byte in range(256))


class Form(Enum):
    """What carries an image; the value is the name that people know."""

    HEX = "Intel HEX"
    SREC = "S-record"
    RAW = "raw binary"


@dataclass(frozen=True, slots=True)
class Chunk:
    """Bytes that stand one after the other in memory, the first of them at `address`."""

    address: int
    data: bytes

    @property
    def end(self) -> int:
        """The first address behind the chunk."""
        return self.address + len(self.data)


@dataclass(frozen=True, slots=True)
class _Shape:
    """How a record is built: mark, length, address, kind, data, check.

    The length byte counts the data and `counted` bytes more. `check` turns the low byte of the sum over
    everything behind the mark into the check byte.
    """

    mark: str
    counted: int
    address_bytes: int
    kind: bytes
    check: bytes


def _hex_shape(kind: int) -> _Shape:
    return _Shape(":", 0, 2, bytes((kind,)), _NEGATED)


def _srec_shape(kind: int, address_bytes: int) -> _Shape:
    return _Shape(f"S{kind}", address_bytes + 1, address_bytes, b"", _INVERTED)


_HEX_DATA: Final = _hex_shape(0)
_HEX_END: Final = _hex_shape(1)
_HEX_UPPER: Final = _hex_shape(4)


def to_hex(address: int, data: bytes) -> bytes:
    """Intel HEX of `data` at `address`: 32-bit flavour, upper-case digits, lines that end in LF.

    A type 04 record stands wherever the upper 16 bits of the address become other than those in force
    (0 at first). No record crosses a 64 KiB edge, where readers differ. ValueError where the data is empty
    or leaves the address space.
    """
    return hex_of((Chunk(address, data),))


def hex_of(chunks: Iterable[Chunk]) -> bytes:
    """The same of several runs of bytes, by ascending addresses."""
    return b"".join(hex_pieces(chunks))


def hex_pieces(chunks: Iterable[Chunk]) -> Iterator[bytes]:
    """The same piece by piece, for a file that is larger than what should be held at once."""
    upper = 0
    for whole in chunks:
        _must_fit(whole.address, whole.data)
        parts: list[str] = []
        for chunk in _between_edges(whole.address, whole.data):
            if chunk.address >> 16 != upper:
                upper = chunk.address >> 16
                parts.append(_record(_HEX_UPPER, 0, upper.to_bytes(2, "big")))
            parts.append(_data_records(_HEX_DATA, chunk))
        yield "".join(parts).upper().encode("ascii")
    yield _record(_HEX_END, 0, b"").upper().encode("ascii")


def to_srec(address: int, data: bytes, header: str) -> bytes:
    """S-records of `data` at `address`: S0 with `header`, data, count and end; lines that end in LF.

    The highest address chooses the type for the whole file: S1 and S9, S2 and S8 or S3 and S7. The count is
    S5, or S6 from 65 536 records on. The start address is 0. `header` is printable ASCII of at most
    `LONGEST_HEADER` characters; old loaders hold about 30. ValueError where a value is outside these
    bounds, the data is empty or leaves the address space.
    """
    return b"".join(srec_pieces((Chunk(address, data),), address + len(data) - 1, header))


def srec_pieces(chunks: Iterable[Chunk], last: int, header: str) -> Iterator[bytes]:
    """The same of several runs of bytes, none of them beyond the address `last`, piece by piece. No count
    stands where there are more records than one could say, 2^24."""
    if len(header) > LONGEST_HEADER or not (header.isascii() and header.isprintable()):
        raise ValueError("an S-record header is printable ASCII of bounded length")
    kind = _srec_kind(last)
    shape = _srec_shape(kind, kind + 1)
    yield _record(_srec_shape(0, 2), 0, header.encode("ascii")).upper().encode("ascii")
    rows = 0
    for whole in chunks:
        _must_fit(whole.address, whole.data)
        for chunk in _between_edges(whole.address, whole.data):
            yield _data_records(shape, chunk).upper().encode("ascii")
            rows += -(-len(chunk.data) // _ROW)
    ends = [_record(_srec_shape(10 - kind, kind + 1), 0, b"")]
    if rows < 1 << 24:
        count = _srec_shape(5, 2) if rows < 1 << 16 else _srec_shape(6, 3)
        ends.insert(0, _record(count, rows, b""))
    yield "".join(ends).upper().encode("ascii")


def data_record(form: Form, address: int, data: bytes, last: int) -> bytes:
    """One row of a HEX or S-record file, as a line with its end. last: the highest address in the file."""
    if form is Form.HEX:
        record = _record(_HEX_DATA, address, data)
    else:
        kind = _srec_kind(last)
        record = _record(_srec_shape(kind, kind + 1), address, data)
    return record.upper().encode("ascii")


def row_edges(address: int, size: int) -> list[int]:
    """Where the rows of a file begin in so many bytes at an address, and where the last one ends."""
    edges, at = [0], 0
    while at < size:
        at = min(at + _ROW, size, at + _EDGE - (address + at) % _EDGE)
        edges.append(at)
    return edges


def _srec_kind(last: int) -> int:
    """The type of the data records of a file: 1 to 3, for addresses of 16 to 32 bits."""
    return 1 if last < 1 << 16 else 2 if last < 1 << 24 else 3


def _must_fit(address: int, data: bytes) -> None:
    if not data or address < 0 or address + len(data) > ADDRESS_SPACE:
        raise ValueError("an image has at least one byte and lies within 32-bit addresses")


def _between_edges(address: int, data: bytes) -> list[Chunk]:
    """The data cut at every 64 KiB edge."""
    to_edge = _EDGE - address % _EDGE
    cuts = [0, *range(to_edge, len(data), _EDGE), len(data)]
    return [Chunk(address + low, data[low:high]) for low, high in pairwise(cuts)]


def _record(shape: _Shape, address: int, data: bytes) -> str:
    length = bytes((shape.counted + len(data),))
    body = length + address.to_bytes(4, "big")[-shape.address_bytes :] + shape.kind + data
    return f"{shape.mark}{body.hex()}{shape.check[sum(body) & 0xFF]:02x}\n"


def _data_records(shape: _Shape, chunk: Chunk) -> str:
    """The records of one chunk: the full rows as one table, built by columns, and the rest as one record.

    Row by row it would be 16 times more Python steps: stamping spends most of its time here.
    """
    rows, rest = divmod(len(chunk.data), _ROW)
    full = rows * _ROW
    last = _record(shape, chunk.address + full, chunk.data[full:]) if rest else ""
    if not rows:
        return last
    head = 1 + shape.address_bytes + len(shape.kind)
    check = head + _ROW
    width = check + 1
    table = bytearray(rows * width)
    table[0::width] = bytes((shape.counted + _ROW,)) * rows
    addresses = struct.pack(f">{rows}I", *range(chunk.address, chunk.address + full, _ROW))
    for column in range(shape.address_bytes):
        table[1 + column :: width] = addresses[4 - shape.address_bytes + column :: 4]
    for column, kind in enumerate(shape.kind, 1 + shape.address_bytes):
        table[column::width] = bytes((kind,)) * rows
    for column in range(_ROW):
        table[head + column :: width] = chunk.data[column:full:_ROW]
    table[check::width] = _column_sums(table, width, check, rows).translate(shape.check)
    between = f"\n{shape.mark}"
    return shape.mark + between.join(table.hex("\n", -width).split("\n")) + f"\n{last}"


def _column_sums(table: bytearray, width: int, columns: int, rows: int) -> bytes:
    """For each row the low byte of the sum of its first `columns` bytes.

    All rows are added at once, as one large number with 16 bits a row: 21 bytes of 255 stay far below 65 536,
    so no row carries into the next.
    """
    total = 0
    lanes = bytearray(2 * rows)
    for column in range(columns):
        lanes[::2] = table[column::width]
        total += int.from_bytes(lanes, "little")
    return total.to_bytes(2 * rows, "little")[::2]
