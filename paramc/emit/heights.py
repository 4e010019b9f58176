"""Tables made of straight pieces as C: the call that gives a height, and what it reads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias, assert_never

from paramc.emit.constants import Constants, CType, Names, unsigned, words
from paramc.frozen import dataclass
from paramc.tables.blocks import Blocks
from paramc.tables.costs import place_is_product
from paramc.tables.even_grid import EvenGrid
from paramc.tables.free_knots import FreeKnots
from paramc.tables.segments import FreeSegments, start_width

Heights: TypeAlias = EvenGrid | Blocks | FreeSegments | FreeKnots
"""The tables that count heights from a datum."""


@dataclass(frozen=True, slots=True)
class Height:
    """The height at k, or the value itself: then the stored heights are counted from no datum any more."""

    expression: str
    is_value: bool
    constants: tuple[Constants, ...]


def heights(table: Heights, result: CType, names: Names) -> Height:
    """How C computes the heights of a table, whose values fit the result.

    Where all that is left to do is to add the datum's base in words of the result's own width, it is added
    to the stored heights: everything between them is computed modulo the word and stays what it was.
    """
    datum = table.datum
    width = datum.width
    is_value = datum.shift == 0 and not datum.falling and not result.signed and width == result.bits
    raised = datum.base if is_value else 0

    def counted(what: str, values: Sequence[int], bits: int) -> Constants:
        return words(names.part(what), f"{names.what}: {what}.", values, bits)

    def stored(what: str, values: Sequence[int]) -> Constants:
        word = (1 << width) - 1
        return counted(what, [y + raised & word for y in values], width)

    prefix = names.prefix
    match table:
        case EvenGrid(spacing=spacing):
            knots = stored("knots", table.knots)
            call = f"{prefix}_grid_{width}({_place(table.entries, spacing, prefix)}, {knots.name})"
            return Height(call, is_value, (knots,))
        case Blocks(size=size):
            starts, knots = counted("starts", table.starts, 8), stored("knots", table.knots)
            if size > 8:
                scale = unsigned(1 << (16 - size))
                call = f"{prefix}_wide_blocks_{width}(k, {scale}, {starts.name}, {knots.name})"
            else:
                place = _place(table.entries, size, prefix)
                call = f"{prefix}_blocks_{width}({place}, {starts.name}, {knots.name})"
            return Height(call, is_value, (starts, knots))
        case FreeSegments(slope_width=slope_width, shift=shift):
            bits = start_width(table.entries)
            kind = "short_segments" if table.product_width == 16 else "segments"
            rows = (
                counted("starts", table.starts, bits), stored("bases", table.bases),
                counted("slopes", table.slopes, slope_width),
            )  # fmt: skip
            listed = ", ".join(row.name for row in rows)
            last = unsigned(len(table.starts) - 1)
            name = f"{prefix}_{kind}_{width}_{bits}_{slope_width}"
            half = unsigned((1 << shift) >> 1)
            return Height(f"{name}(k, {listed}, {last}, {unsigned(shift)}, {half})", is_value, rows)
        case FreeKnots():
            bits = start_width(table.entries)
            codes, at = counted("starts", table.codes, bits), stored("knots", table.heights)
            last = unsigned(len(table.codes) - 2)
            call = f"{prefix}_knots_{width}_{bits}(k, {codes.name}, {at.name}, {last})"
            return Height(call, is_value, (codes, at))
        case other:
            assert_never(other)


def _place(entries: int, size: int, prefix: str) -> str:
    """k, a uint16_t below the entries, in 256ths of a run of 2^size codes; in 16 bits, since there are at
    most 256 runs."""
    if size == 8:
        return "k"
    if place_is_product(entries, size):
        return f"{prefix}_product((uint8_t)(k & 0xFFu), {unsigned(1 << (8 - size))})"
    return f"(uint16_t)(k << {8 - size})" if size < 8 else f"(uint16_t)(k >> {size - 8})"
