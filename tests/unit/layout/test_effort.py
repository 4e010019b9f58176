"""Writes, clocks and times, against figures worked out by hand."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from paramc.emit.c import emit_c
from paramc.layout.effort import (
    READ_AT_ONCE,
    address_bytes,
    bus_seconds,
    longest_step_seconds,
    page_writes,
    write_seconds,
)
from paramc.layout.layout import Kind, Record
from paramc.layout.plan import plan
from paramc.model.product import Chip, Order
from paramc.numbers.crc import CATALOGUE
from tests.unit.layout.products import teasel_pinch

MS = Fraction(1, 1000)


def chip(page: int, size: int = 8192, checksum: str = "crc-16/ibm-3740") -> Chip:
    return Chip(size, page, 1_000_000, checksum=CATALOGUE[checksum])


def record(length: int) -> Record:
    return Record(Kind.STATE, (0, 256), 256, 1, (), 0, length, Order.LITTLE, 10)


@pytest.mark.parametrize(
    ("page", "length", "checksum", "body", "seal"),
    [
        (1, 11, "crc-16/ibm-3740", 9, 2),  # byte by byte: 9 of the body, 2 of the checksum
        (1, 11, "crc-32/iso-hdlc", 7, 4),
        (32, 13, "crc-16/ibm-3740", 1, 1),
        (32, 32, "crc-16/ibm-3740", 1, 1),  # the checksum ends with the page
        (32, 33, "crc-16/ibm-3740", 1, 2),  # one byte of it on each page
        (32, 34, "crc-16/ibm-3740", 1, 1),  # it has the second page for itself
        (32, 35, "crc-16/ibm-3740", 2, 1),
        (32, 40, "crc-16/ibm-3740", 2, 1),
        (8, 40, "crc-8/autosar", 5, 1),
        (2, 9, "crc-32/iso-hdlc", 3, 3),  # bytes 0 to 4 and 5 to 8, by twos
    ],
)
def test_writes_are_the_pages_that_are_touched(
    page: int, length: int, checksum: str, body: int, seal: int
) -> None:
    of = chip(page, checksum=checksum)
    assert page_writes(of, record(length)) == (body, seal)
    # The same by listing every byte's page.
    at = length - of.checksum.size
    pages = [{byte // page for byte in part} for part in (range(at), range(at, length))]
    assert tuple(map(len, pages)) == (body, seal)


def test_a_write_takes_what_the_data_sheets_say() -> None:
    """5 ms: AT24C02C (DS20006111A), AT24C256C (DS20006042A), M24C02 (DocID024020). 4 ms: AVR with UPDI."""
    assert write_seconds(chip(8)) == write_seconds(chip(128)) == 5 * MS
    assert write_seconds(chip(1)) == 4 * MS


def test_memories_of_16_kbit_and_less_are_sent_one_byte_of_address() -> None:
    """Common practice: AT24C16 and smaller take one byte and bits of the device address, AT24C32 two."""
    assert [address_bytes(chip(8, size)) for size in (128, 2048, 4096, 65536)] == [1, 1, 2, 2]


@pytest.mark.parametrize(
    ("size", "length", "hertz", "milliseconds"),
    [
        # One reading: device, address of two, device again, 13 bytes: 17 x 9 clocks = 153.
        (8192, 13, 100_000, "1.53"),
        (8192, 13, 400_000, "0.3825"),
        # One byte of address: 16 x 9 = 144.
        (2048, 13, 100_000, "1.44"),
        # 32 bytes are one reading, 33 are two: 36 x 9 = 324, 41 x 9 = 369.
        (8192, 32, 100_000, "3.24"),
        (8192, 33, 100_000, "3.69"),
        # Three readings of 70 bytes: 82 x 9 = 738.
        (8192, 70, 100_000, "7.38"),
        (8192, 70, 400_000, "1.845"),
    ],
)
def test_a_place_is_read_at_9_clocks_a_byte(size: int, length: int, hertz: int, milliseconds: str) -> None:
    """Common practice: eight bits and the acknowledgement."""
    assert bus_seconds(chip(32, size), length, hertz) == Fraction(milliseconds) * MS


@pytest.mark.parametrize(
    ("page", "lengths", "hertz", "milliseconds"),
    [
        # 3 + 32 bytes sent are 315 clocks, 3.15 ms, and 5 ms; 40 bytes read twice are 864 clocks, 8.64 ms.
        (32, (13, 40), 100_000, "8.64"),
        (32, (13, 40), 400_000, "5.7875"),  # 0.7875 + 5 over 2.16
        # The body of 11 bytes is less than a page: 14 x 9 = 126 clocks and 5 ms.
        (32, (13,), 100_000, "6.26"),
        (8, (13,), 100_000, "5.99"),  # 11 x 9 = 99
    ],
)
def test_the_longest_step_is_a_page_written_or_a_place_read_twice(
    page: int, lengths: tuple[int, ...], hertz: int, milliseconds: str
) -> None:
    records = [record(length) for length in lengths]
    assert longest_step_seconds(chip(page), records, hertz) == Fraction(milliseconds) * MS


def test_the_firmware_reads_so_many_bytes_at_once() -> None:
    layout = plan(teasel_pinch()).value
    assert layout is not None
    header = next(one.data.decode() for one in emit_c(layout) if one.name.endswith(".h"))
    (said,) = re.findall(r"#define TP_PIECE (\d+)u", header)
    assert int(said) == READ_AT_ONCE
