"""Formats to propose where the one that was asked for is none, or is not fine enough."""

from __future__ import annotations

import re
from collections.abc import Iterator

from paramc.numbers.formats import WORDS, Format, parse

_INTEGER = re.compile(r"([us])([0-9]+)")
_FRACTIONAL = re.compile(r"(u?q)([0-9]+)(?:\.([0-9]+))?")


def likely(text: str) -> Iterator[Format]:
    """The formats that a wrong one may have been meant to be, the likeliest first."""
    if match := _INTEGER.fullmatch(text):
        names = [f"{match[1]}{bits}" for bits in WORDS if bits >= _small(match[2])]
    elif match := _FRACTIONAL.fullmatch(text):
        names = _fractional(match[1], _small(match[2]), match[3])
    else:
        names = []
    for name in names:
        form = parse(name)
        if form is not None:
            yield form


def _fractional(kind: str, first: int, second: str | None) -> list[str]:
    if second is None:
        # q15 counts the bits behind the point alone, and only signed formats have such a name.
        whole = 1
    else:
        whole = first if kind == "uq" else max(first, 1)
    behind = _small(second) if second is not None else first
    words = [bits for bits in WORDS if bits >= whole + behind]
    return [_name(kind, whole, bits) for bits in words]


def _name(kind: str, whole: int, bits: int) -> str:
    """q15 rather than q1.15, which is the same format."""
    return f"q{bits - 1}" if kind == "q" and whole == 1 else f"{kind}{whole}.{bits - whole}"


def finer(form: Format) -> Iterator[Format]:
    """The formats of more bits with as many in front of the point."""
    whole = form.bits - form.fraction_bits
    for bits in WORDS:
        if bits > form.bits and not form.integer:
            found = parse(_name("q" if form.signed else "uq", whole, bits))
            if found is not None:
                yield found


def _small(digits: str) -> int:
    """The number, or one beyond every format for digits without end."""
    return int(digits) if len(digits) < 4 else 1000
