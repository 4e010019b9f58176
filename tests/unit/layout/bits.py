"""The second road to every bit: records as texts of 0 and 1, put together from the rules of FORMAT.md.

Nothing here comes from the packing, the checksum or the layout of paramc.
"""

from __future__ import annotations

from collections.abc import Sequence


def packed(parts: Sequence[tuple[int, int]], order: str) -> bytes:
    """Bytes of fields given as (width, value), one behind another, the last byte filled with zeros."""
    little = order == "little"
    bits = ""
    for width, value in parts:
        digits = f"{value:0{width}b}" if width else ""
        bits += digits[::-1] if little else digits
    bits += "0" * (-len(bits) % 8)
    eights = [bits[at : at + 8] for at in range(0, len(bits), 8)]
    return bytes(int(eight[::-1] if little else eight, 2) for eight in eights)


def text_parts(text: bytes, size: int) -> list[tuple[int, int]]:
    """A text as its fields of 8 bits, zeros behind."""
    return [(8, byte) for byte in text + bytes(size - len(text))]


def field_value(record: bytes, order: str, bit: int, width: int) -> int:
    """The number in so many bits from a bit of the record, read bit by bit."""
    value = 0
    for at in range(bit, bit + width):
        byte, place = record[at // 8], at % 8
        if order == "little":
            value |= (byte >> place & 1) << (at - bit)
        else:
            value = value << 1 | byte >> (7 - place) & 1
    return value


def crc_16_1021(message: bytes) -> bytes:
    """CRC-16 with polynomial 1021, start FFFF, unreflected: by long division of one bit after another."""
    register = 0xFFFF
    for byte in message:
        for place in range(7, -1, -1):
            carry = register >> 15
            register = (register << 1 & 0xFFFF) ^ (0x1021 if carry != byte >> place & 1 else 0)
    return bytes((register >> 8, register & 0xFF))
