"""Rules about the memory and its checksum."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

CHIP_SIZE = Rule(
    "chip-size",
    Severity.STOP,
    "Addresses in this memory are 16 bits wide, in the generated C and under every checksum. So the memory"
    " is at most 64 KiB; say how much of a larger one is used.",
    changed("size 256 bytes", "size 65 KiB"),
    changed("size 256 bytes", "size 64 KiB"),
)

CHIP_PAGE = Rule(
    "chip-page",
    Severity.STOP,
    "A page is what one write can spoil when the power fails in it. It is a power of two and divides the"
    " memory evenly; data sheets give it as page size or write buffer. Memory that the processor writes"
    " byte by byte has pages of 1 byte.",
    changed("page 1 byte", "page 24 bytes"),
    changed("page 1 byte", "page 16 bytes"),
)

LEAVE_FIRST = Rule(
    "leave-first",
    Severity.STOP,
    "The bytes that are left free at the start of the memory have to leave room for something behind them.",
    changed("page 1 byte", "page 1 byte  leave first 256 bytes"),
    changed("page 1 byte", "page 1 byte  leave first 16 bytes"),
)

HEX_ADDRESS = Rule(
    "hex-address",
    Severity.STOP,
    "Image files have addresses of 32 bits, and the whole memory has to lie below their end.",
    changed("page 1 byte", "page 1 byte  hex at 0xFFFFFF01"),
    changed("page 1 byte", "page 1 byte  hex at 0xFFFFFF00"),
)

CHECKSUM_UNKNOWN = Rule(
    "checksum-unknown",
    Severity.STOP,
    "The checksum's name is not in the catalogue of paramc. Names such as CRC-16-CCITT stand for several"
    " algorithms with different sums, so none of them is taken on trust; any other algorithm can be written"
    " out with its parameters and its check value.",
    changed("page 1 byte", "page 1 byte  checksum crc-16/ccitt"),
    changed("page 1 byte", "page 1 byte  checksum crc-16/kermit"),
)

_WRITTEN = "page 1 byte  checksum width 16 poly 0x1021 start 0xFFFF final 0 check 0x29B1"

CHECKSUM_FORM = Rule(
    "checksum-form",
    Severity.STOP,
    "A checksum that is written out has 8, 16, 24 or 32 bits, a polynomial without its highest term, and"
    " values that fit in that many bits.",
    changed("page 1 byte", _WRITTEN.replace("0x1021", "0x11021")),
    changed("page 1 byte", _WRITTEN),
)

CHECKSUM_CHECK = Rule(
    "checksum-check",
    Severity.STOP,
    "The check value is the checksum of the nine characters 123456789. It proves that the parameters were"
    " understood as they were meant, so one that does not come out is a mistake in the parameters or in the"
    " value, and no memory is laid out on it.",
    changed("page 1 byte", _WRITTEN.replace("0x29B1", "0x31C3")),
    changed("page 1 byte", _WRITTEN),
)

RULES = (
    CHIP_SIZE,
    CHIP_PAGE,
    LEAVE_FIRST,
    HEX_ADDRESS,
    CHECKSUM_UNKNOWN,
    CHECKSUM_FORM,
    CHECKSUM_CHECK,
)
