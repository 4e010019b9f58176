"""A word to be read from across the room: large, told by its shape and its letters, without colour."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

_LETTERS: Final = MappingProxyType(
    {
        "P": ("PPPPPP ", "PP   PP", "PP   PP", "PPPPPP ", "PP     ", "PP     ", "PP     "),
        "A": ("  AAA  ", " AA AA ", "AA   AA", "AA   AA", "AAAAAAA", "AA   AA", "AA   AA"),
        "S": (" SSSSS ", "SS   SS", "SS     ", " SSSSS ", "     SS", "SS   SS", " SSSSS "),
        "F": ("FFFFFFF", "FF     ", "FF     ", "FFFFF  ", "FF     ", "FF     ", "FF     "),
        "I": (" IIIIII", "   II  ", "   II  ", "   II  ", "   II  ", "   II  ", " IIIIII"),
        "L": ("LL     ", "LL     ", "LL     ", "LL     ", "LL     ", "LL     ", "LLLLLLL"),
    }
)


def banner(word: str) -> list[str]:
    """The lines of PASS or FAIL; FAIL stands in a frame, so that the two differ in outline as well."""
    lines = ["   ".join(_LETTERS[letter][row] for letter in word).rstrip() for row in range(7)]
    if word == "PASS":
        return [f"    {line}".rstrip() for line in lines]
    width = max(map(len, lines))
    edge = "X" * (width + 6)
    return [edge, *(f"X  {line.ljust(width)}  X" for line in lines), edge]
