"""What writing and reading ask of the memory: writes of a record, clocks on the bus, times."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Final

from paramc.layout.layout import Record
from paramc.model.product import Chip

PAGE_WRITE_SECONDS: Final = Fraction(5, 1000)
"""The longest that serial memories take for a page, as most data sheets have it: Microchip AT24C02C
(DS20006111A) and AT24C256C (DS20006042A), ST M24C02 (DocID024020 rev 2)."""

BYTE_WRITE_SECONDS: Final = Fraction(4, 1000)
"""For one byte of the EEPROM inside an AVR processor, erased and written in one: 3.4 ms in the data sheet
of the ATmega328P (from memory), 4 ms in those of the AVR parts with UPDI (Microchip, Programming Time)."""

READ_AT_ONCE: Final = 32
"""Bytes that the firmware asks its driver for in one reading, at the most."""

CLOCKS_A_BYTE: Final = 9
"""On I2C: eight bits and the acknowledgement (common practice)."""

LARGEST_SHORT_ADDRESS: Final = 2048
"""Bytes of the largest serial memory that is sent one byte of address, with the rest of it in the device
address; larger ones are sent two (common practice, as in the AT24C16 and the AT24C32)."""


def write_seconds(chip: Chip) -> Fraction:
    """What one write takes at the longest: of a page, or of a byte inside a processor."""
    return BYTE_WRITE_SECONDS if chip.page == 1 else PAGE_WRITE_SECONDS


def page_writes(chip: Chip, record: Record) -> tuple[int, int]:
    """Writes of a record's body and of its checksum: the pages that each touches from the place's edge
    on, one byte being a page where the memory is written byte by byte."""
    body = record.length - chip.checksum.size
    first = body // chip.page
    last = (record.length - 1) // chip.page
    return -(-body // chip.page), last - first + 1


def address_bytes(chip: Chip) -> int:
    """Bytes of the memory's own address on the bus."""
    return 1 if chip.size <= LARGEST_SHORT_ADDRESS else 2


def bus_seconds(chip: Chip, length: int, hertz: int) -> Fraction:
    """What it takes to read so many bytes of a place over I2C.

    Each reading sends the device address and the memory address, then the device address again, and
    takes bytes in sequence. Start and stop conditions are not counted.
    """
    readings = -(-length // READ_AT_ONCE)
    sent = readings * (1 + address_bytes(chip) + 1)
    return Fraction(CLOCKS_A_BYTE * (sent + length), hertz)


def longest_step_seconds(chip: Chip, records: Iterable[Record], hertz: int) -> Fraction:
    """The longest step over I2C: the greatest write within a page, sent behind both addresses and waited
    for; or the longest record read twice, as a place is that holds none."""
    longest = max(record.length for record in records)
    sent = 1 + address_bytes(chip) + min(longest - chip.checksum.size, chip.page)
    written = Fraction(CLOCKS_A_BYTE * sent, hertz) + write_seconds(chip)
    return max(written, 2 * bus_seconds(chip, longest, hertz))
