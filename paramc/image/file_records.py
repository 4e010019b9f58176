"""One line of an image file: the record that it holds, or a sentence on why it holds none.

Sources: Intel, Hexadecimal Object File Format Specification, revision A, 1988; srec_intel(5) and
srec_motorola(5) of SRecord.
"""

from __future__ import annotations

import binascii
from typing import Final, NamedTuple

from paramc.image.files import Form

HEX_DATA, HEX_END, HEX_SEGMENT, HEX_START_SEGMENT, HEX_LINEAR, HEX_START_LINEAR = range(6)
"""The types of Intel HEX records."""

SREC_ADDRESS_BYTES: Final = {0: 2, 1: 2, 2: 3, 3: 4, 5: 2, 6: 3, 7: 4, 8: 3, 9: 2}
"""The types of S-records, and the width of the address (in S5 and S6, of the count) in each."""

_HEX_LENGTHS: Final = {HEX_END: 0, HEX_SEGMENT: 2, HEX_START_SEGMENT: 4, HEX_LINEAR: 2, HEX_START_LINEAR: 4}
_DIGITS: Final = b"0123456789ABCDEFabcdef"


class Record(NamedTuple):
    """What one line says; `kind` is the type's number, `address` is 0 to 0xFFFF in Intel HEX."""

    kind: int
    address: int
    data: bytes


def form_of_record(line: bytes) -> Form:
    """The form whose whole record the line is; raw binary where it is none."""
    if line[:1] == b":" and isinstance(hex_record(line), Record):
        return Form.HEX
    if line[:1] == b"S" and isinstance(srec_record(line), Record):
        return Form.SREC
    return Form.RAW


def hex_record(line: bytes) -> Record | str:
    """The record in a line of Intel HEX, or what is wrong with it."""
    if line[:1] != b":":
        return _wrong_mark(line, Form.HEX, "starts with a colon")
    octets = _octets(line, 1)
    if isinstance(octets, str):
        return octets
    if len(octets) < 5:
        return _too_short(len(octets), 5)
    if octets[0] != len(octets) - 5:
        return _wrong_length(octets[0], len(octets) - 5, "data byte")
    if sum(octets) & 0xFF:
        return _wrong_checksum(octets[-1], -sum(octets[:-1]) & 0xFF)
    kind, address, data = octets[3], octets[1] << 8 | octets[2], octets[4:-1]
    if kind > HEX_START_LINEAR:
        return f"The record type {kind:02X} is unknown; Intel HEX has the types 00 to 05."
    if len(data) != _HEX_LENGTHS.get(kind, len(data)):
        right = counted(_HEX_LENGTHS[kind], "data byte")
        return f"A record of type {kind:02X} has {right}, but this one has {len(data)}."
    if kind > HEX_END and address:
        return f"A record of type {kind:02X} has the offset 0000, but this one has {address:04X}."
    return Record(kind, address, data)


def srec_record(line: bytes) -> Record | str:
    """The record in an S-record line, or what is wrong with it."""
    if line[:1] != b"S":
        return _wrong_mark(line, Form.SREC, "starts with a capital S")
    kind = line[1] - ord("0") if len(line) > 1 else -1
    width = SREC_ADDRESS_BYTES.get(kind)
    if width is None:
        found = _shown(line[1]) if len(line) > 1 else "missing"
        return f"The record type behind the S is {found}; S-records have the types 0 to 3 and 5 to 9."
    octets = _octets(line, 2)
    if isinstance(octets, str):
        return octets
    shortest = width + 2
    if len(octets) < shortest:
        return _too_short(len(octets), shortest)
    if octets[0] != len(octets) - 1:
        return _wrong_length(octets[0], len(octets) - 1, "byte")
    if sum(octets) & 0xFF != 0xFF:
        return _wrong_checksum(octets[-1], ~sum(octets[:-1]) & 0xFF)
    if kind > 3 and len(octets) > shortest:
        found = counted(len(octets) - shortest, "byte")
        return f"A record of type S{kind} has no data, but this one has {found}."
    return Record(kind, int.from_bytes(octets[1 : 1 + width], "big"), octets[1 + width : -1])


def counted(number: int, unit: str) -> str:
    """A number with its unit, which takes an s where there is more than one or none."""
    return f"{number} {unit}" if number == 1 else f"{number} {unit}s"


def _octets(line: bytes, mark: int) -> bytes | str:
    """The bytes that the digits behind the mark spell, or which character spells none."""
    try:
        return binascii.unhexlify(line[mark:])
    except binascii.Error:
        for place, character in enumerate(line[mark:], mark + 1):
            if character not in _DIGITS:
                return f"Character {place} of this record is {_shown(character)}, not a hexadecimal digit."
        return "This record has an odd number of digits: one is missing, or one too many."


def _wrong_mark(line: bytes, form: Form, rule: str) -> str:
    other = form_of_record(line)
    if other is not Form.RAW:
        return f"This line has the form {other.value}, but the file has the form {form.value}."
    return f"This line starts with {_shown(line[0])}, but a line of the form {form.value} {rule}."


def _too_short(found: int, shortest: int) -> str:
    return f"This record has {counted(found, 'byte')}, but the shortest of its type has {shortest}."


def _wrong_length(said: int, found: int, unit: str) -> str:
    return f"The length byte of this record asks for {counted(said, unit)}, but the record has {found}."


def _wrong_checksum(said: int, right: int) -> str:
    return f"The checksum of this record is {said:02X}, but its bytes give {right:02X}."


def _shown(character: int) -> str:
    """A character of unknown text, safe on any terminal."""
    plain = 0x21 <= character <= 0x7E and character != ord('"')
    return f'"{character:c}"' if plain else f"the byte 0x{character:02X}"
