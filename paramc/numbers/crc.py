"""Cyclic redundancy checks of 8, 16, 24 and 32 bits: the catalogue, the sum itself, and the seal.

A CRC is the remainder of the message, read as a polynomial over GF(2), divided by a fixed one. Six
numbers tell one CRC from another: width, polynomial, start value, bit order, final value, and, to prove
that they were understood, the check value: the CRC of the nine ASCII bytes "123456789". A name such as
"CRC-16-CCITT" does not: four CRCs and more go by it.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from paramc.frozen import dataclass

WIDTHS: Final = (8, 16, 24, 32)
"""Bits that a checksum may have."""

CHECK_MESSAGE: Final = b"123456789"
"""The message of the check value."""

_LONGEST_NAME: Final = 40
_NAMES_OFFERED: Final = 3


def fault(width: int, poly: int, init: int, xorout: int, check: int) -> str | None:
    """The first thing that keeps these numbers from being a checksum of ours, as a sentence; None if none.

    Whether the check value is the right one is not asked here: compare `self_check` with it.
    """
    if width not in WIDTHS:
        return f"A checksum is 8, 16, 24 or 32 bits wide, not {width}."
    digits = width // 4
    values = (("polynomial", poly), ("start value", init), ("final value", xorout), ("check value", check))
    for what, value in values:
        if value < 0:
            return f"The {what} is negative."
        if value >> width:
            if what == "polynomial" and value >> width == 1:
                return (
                    f"The polynomial 0x{value:X} has {width + 1} bits: "
                    f"its highest term is understood, write 0x{value ^ 1 << width:0{digits}X}."
                )
            return f"The {what} 0x{value:X} does not fit into {width} bits."
    if not poly & 1:
        # Without its lowest term the polynomial is x times a shorter one: a bit of the checksum says nothing.
        reverse = _reverse(poly, width)
        hint = f"; read from the other end it is 0x{reverse:0{digits}X}" if reverse & 1 else ""
        return f"The polynomial 0x{poly:0{digits}X} has no lowest term{hint}."
    return None


@dataclass(frozen=True, slots=True)
class Algorithm:
    """One CRC, in the parameters of the published catalogues (the Rocksoft model).

    `poly` is written without its highest term, highest bit first, whatever the bit order; `init` likewise.
    `reflected` is the bit order of message and result alike (refin = refout): True takes the low bit of
    each byte first. `xorout` is applied last. `name` is the catalogue's name, or the text as it was
    written for parameters that were spelled out. ValueError where `fault` finds something.
    """

    name: str
    width: int
    poly: int
    init: int
    reflected: bool
    xorout: int
    check: int

    def __post_init__(self) -> None:
        sentence = fault(self.width, self.poly, self.init, self.xorout, self.check)
        if sentence is not None:
            raise ValueError(sentence)

    @property
    def size(self) -> int:
        """Bytes that the stored checksum takes, 1 to 4."""
        return self.width // 8


def start(algorithm: Algorithm) -> int:
    """The register before the first byte."""
    return _reverse(algorithm.init, algorithm.width) if algorithm.reflected else algorithm.init


def update(algorithm: Algorithm, register: int, data: bytes | bytearray) -> int:
    """The register after `data`; feeding a message in parts gives what feeding it whole gives."""
    table = _table(algorithm.width, algorithm.poly, algorithm.reflected)
    if algorithm.reflected:
        for byte in data:
            register = register >> 8 ^ table[(register ^ byte) & 0xFF]
        return register
    low = (1 << algorithm.width - 8) - 1  # what stays of the register when its highest byte is shifted out
    down = algorithm.width - 8
    for byte in data:
        register = (register & low) << 8 ^ table[register >> down ^ byte]
    return register


def finish(algorithm: Algorithm, register: int) -> int:
    """The checksum that a register stands for after the last byte."""
    return register ^ algorithm.xorout


def compute(algorithm: Algorithm, data: bytes) -> int:
    """The checksum of `data`, 0 to 2^width - 1."""
    return finish(algorithm, update(algorithm, start(algorithm), data))


def self_check(algorithm: Algorithm) -> int:
    """The checksum of "123456789", which `algorithm.check` says for itself."""
    return compute(algorithm, CHECK_MESSAGE)


def residue(algorithm: Algorithm) -> int:
    """The register, before the final value, after any message followed by its stored checksum."""
    value = compute(algorithm, b"")
    return update(algorithm, start(algorithm), stored(algorithm, value))


def stored(algorithm: Algorithm, value: int) -> bytes:
    """The checksum as it lies in memory: reflected low byte first, else high byte first.

    It is the order in which the register takes its bytes back to a constant, and in which an error burst
    over the end of the record stays a burst. The byte order of the fields has no say in it.
    """
    return value.to_bytes(algorithm.size, "little" if algorithm.reflected else "big")


def sealed(algorithm: Algorithm, value: int) -> bool:
    """Whether no byte of the stored checksum is FF or 00, as erased and zeroed memory have them."""
    return not {0x00, 0xFF} & set(stored(algorithm, value))


def passes(algorithm: Algorithm, value: int, found: bytes) -> bool:
    """Whether the bytes found in memory are the checksum `value`, and sealed."""
    return found == stored(algorithm, value) and sealed(algorithm, value)


def find(name: str) -> Algorithm | None:
    """The algorithm of that catalogue name, in capitals or not; other names that it goes by do not count."""
    return CATALOGUE.get(name.lower()) if name.isascii() else None


def nearest_names(name: str) -> tuple[str, ...]:
    """Keys of the catalogue that an unknown name may have meant, the likeliest first; none when far off.

    A trade name that several CRCs share brings all of them, in the catalogue's order: which of them is
    meant, the check value decides.
    """
    letters = _letters(name[:_LONGEST_NAME])
    if letters in _MEANINGS:
        return _MEANINGS[letters]
    from difflib import get_close_matches  # slow to import

    found: dict[str, None] = {}  # a set that remembers the order of its entries
    for close in get_close_matches(letters, _MEANINGS, n=_NAMES_OFFERED):
        found |= dict.fromkeys(_MEANINGS[close])
    return tuple(found)


def _reverse(value: int, width: int) -> int:
    """The same bits from the other end."""
    return int(f"{value:0{width}b}"[::-1], 2)


@functools.lru_cache(maxsize=32)  # A product has one algorithm, and feeds it thousands of messages.
def _table(width: int, poly: int, reflected: bool) -> tuple[int, ...]:
    """What each byte adds to the register.

    The CRC is linear: eight single bits are divided, every other entry is the XOR of two before it.
    """
    table = [0] * 256
    if reflected:
        poly = _reverse(poly, width)
        register, bits = 1, [128 >> n for n in range(8)]
    else:
        register, bits = 1 << width - 1, [1 << n for n in range(8)]
    full = (1 << width) - 1
    for bit in bits:
        if reflected:
            register = register >> 1 ^ (poly if register & 1 else 0)
        else:
            register = register << 1 & full ^ (poly if register >> width - 1 else 0)
        table[bit] = register
    for entry in range(256):
        highest = 1 << entry.bit_length() >> 1
        table[entry] = table[highest] ^ table[entry ^ highest]
    return tuple(table)


def _letters(name: str) -> str:
    """A name without what people write differently: capitals, slashes, strokes and blanks."""
    return "".join(c for c in name.lower() if c.isascii() and c.isalnum())


# Parameters, names and check values as the public catalogues give them; the tests hold each line against
# a copy of the published figures and against two libraries.
_LISTED: Final = (
    #          name                  width  poly        init        refl.  xorout      check
    Algorithm("CRC-8/SMBUS",          8, 0x07,       0x00,       False, 0x00,       0xF4),
    Algorithm("CRC-8/MAXIM-DOW",      8, 0x31,       0x00,       True,  0x00,       0xA1),
    Algorithm("CRC-8/NRSC-5",         8, 0x31,       0xFF,       False, 0x00,       0xF7),
    Algorithm("CRC-8/AUTOSAR",        8, 0x2F,       0xFF,       False, 0xFF,       0xDF),
    Algorithm("CRC-8/SAE-J1850",      8, 0x1D,       0xFF,       False, 0xFF,       0x4B),
    Algorithm("CRC-8/BLUETOOTH",      8, 0xA7,       0x00,       True,  0x00,       0x26),
    Algorithm("CRC-16/ARC",          16, 0x8005,     0x0000,     True,  0x0000,     0xBB3D),
    Algorithm("CRC-16/MODBUS",       16, 0x8005,     0xFFFF,     True,  0x0000,     0x4B37),
    Algorithm("CRC-16/USB",          16, 0x8005,     0xFFFF,     True,  0xFFFF,     0xB4C8),
    Algorithm("CRC-16/UMTS",         16, 0x8005,     0x0000,     False, 0x0000,     0xFEE8),
    Algorithm("CRC-16/IBM-3740",     16, 0x1021,     0xFFFF,     False, 0x0000,     0x29B1),
    Algorithm("CRC-16/XMODEM",       16, 0x1021,     0x0000,     False, 0x0000,     0x31C3),
    Algorithm("CRC-16/SPI-FUJITSU",  16, 0x1021,     0x1D0F,     False, 0x0000,     0xE5CC),
    Algorithm("CRC-16/GENIBUS",      16, 0x1021,     0xFFFF,     False, 0xFFFF,     0xD64E),
    Algorithm("CRC-16/KERMIT",       16, 0x1021,     0x0000,     True,  0x0000,     0x2189),
    Algorithm("CRC-16/MCRF4XX",      16, 0x1021,     0xFFFF,     True,  0x0000,     0x6F91),
    Algorithm("CRC-16/IBM-SDLC",     16, 0x1021,     0xFFFF,     True,  0xFFFF,     0x906E),
    Algorithm("CRC-16/CDMA2000",     16, 0xC867,     0xFFFF,     False, 0x0000,     0x4C06),
    Algorithm("CRC-16/DNP",          16, 0x3D65,     0x0000,     True,  0xFFFF,     0xEA82),
    Algorithm("CRC-24/OPENPGP",      24, 0x864CFB,   0xB704CE,   False, 0x000000,   0x21CF02),
    Algorithm("CRC-32/ISO-HDLC",     32, 0x04C11DB7, 0xFFFFFFFF, True,  0xFFFFFFFF, 0xCBF43926),
    Algorithm("CRC-32/JAMCRC",       32, 0x04C11DB7, 0xFFFFFFFF, True,  0x00000000, 0x340BC6D9),
    Algorithm("CRC-32/BZIP2",        32, 0x04C11DB7, 0xFFFFFFFF, False, 0xFFFFFFFF, 0xFC891918),
    Algorithm("CRC-32/MPEG-2",       32, 0x04C11DB7, 0xFFFFFFFF, False, 0x00000000, 0x0376E6E7),
    Algorithm("CRC-32/CKSUM",        32, 0x04C11DB7, 0x00000000, False, 0xFFFFFFFF, 0x765E7680),
    Algorithm("CRC-32/ISCSI",        32, 0x1EDC6F41, 0xFFFFFFFF, True,  0xFFFFFFFF, 0xE3069283),
    Algorithm("CRC-32/AUTOSAR",      32, 0xF4ACFB13, 0xFFFFFFFF, True,  0xFFFFFFFF, 0x1697D06A),
)

CATALOGUE: Final[Mapping[str, Algorithm]] = MappingProxyType({a.name.lower(): a for a in _LISTED})
"""Every algorithm that has a name here, by that name in small letters, as a product file writes it."""

_CCITT: Final = (
    "crc-16/ibm-3740", "crc-16/xmodem", "crc-16/spi-fujitsu",
    "crc-16/kermit", "crc-16/mcrf4xx", "crc-16/ibm-sdlc",
)

_MEANINGS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    # The bare end of a name ("kermit") first, so that a width in front ("crc16kermit") is the surer match;
    # ends that two widths share ("autosar") keep both.
    {
        _letters(end): tuple(key for key in CATALOGUE if key.endswith("/" + end))
        for end in (key.partition("/")[2] for key in CATALOGUE)
    }
    | {_letters(key): (key,) for key in CATALOGUE}
    | {
        "crc8": ("crc-8/smbus",),
        "crc8maxim": ("crc-8/maxim-dow",),
        "1wire": ("crc-8/maxim-dow",),
        "crc16": ("crc-16/ibm-3740", "crc-16/arc", "crc-16/modbus"),
        "crc16ibm": ("crc-16/arc",),
        "crc16lha": ("crc-16/arc",),
        "crc16buypass": ("crc-16/umts",),
        "crc16ccittfalse": ("crc-16/ibm-3740",),
        "crc16augccitt": ("crc-16/spi-fujitsu",),
        "crc16ccitttrue": ("crc-16/kermit",),
        "crc16x25": ("crc-16/ibm-sdlc",),
        "x25": ("crc-16/ibm-sdlc",),
        "crc16ccitt": _CCITT,
        "crcccitt": _CCITT,
        "ccitt": _CCITT,
        "crc24": ("crc-24/openpgp",),
        "crc32": ("crc-32/iso-hdlc",),
        "crc32zip": ("crc-32/iso-hdlc",),
        "crc32ethernet": ("crc-32/iso-hdlc",),
        "crc32posix": ("crc-32/cksum",),
        "crc32c": ("crc-32/iscsi",),
    }
)
