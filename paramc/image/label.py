"""What is printed on a unit: its serial with two check characters."""

from __future__ import annotations

from typing import Final

_ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_RADIX: Final = 36
_MODULUS: Final = 1271


def check_characters(serial: str) -> str:
    """Two characters that tell a serial copied wrongly: one character changed, two that stand side by side
    exchanged. Hyphens are not counted.

    ISO/IEC 7064, MOD 1271-36, over 0 to 9 and A to Z.
    """
    total = 0
    for character in serial.replace("-", ""):
        total = (total + _ALPHABET.index(character)) * _RADIX % _MODULUS
    first, second = divmod((1 - total * _RADIX) % _MODULUS, _RADIX)
    return _ALPHABET[first] + _ALPHABET[second]
