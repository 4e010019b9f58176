"""The checksums that the C's self-test has to reach, over what the chip reads and computes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from paramc.emit.layout_rows import Rows
from paramc.layout.layout import Layout
from paramc.numbers import crc
from paramc.numbers.crc import Algorithm
from paramc.tables.forms import value_at

WIDE = 0x80
"""Added to a row's width where its member is a uint16_t."""


def descriptors_sum(
    algorithm: Algorithm, rows: Rows, stops: Iterable[int], places: Iterable[int], rest: bytes
) -> int:
    """Over rows, kinds, places, and the rest: factory sounds, rows of earlier revisions, codes not in use.

    stops: just past the last place of each kind.
    """
    data = bytearray()
    for row in rows.rows:
        data += _u16(row.last) + _u16(row.standard) + bytes([row_width(row.width, row.wide)])
    for kind, stop in zip(rows.kinds, stops, strict=True):
        data += _u16(kind.record.length) + _u16(stop)
    for place in places:
        data += _u16(place)
    return crc.update(algorithm, crc.start(algorithm), bytes(data) + rest)


def values_sum(layout: Layout) -> int:
    """Over every engine value in 32 bits and every knob's code in 16, high byte first."""
    algorithm = layout.product.chip.checksum
    return crc.update(algorithm, crc.start(algorithm), b"".join(_values(layout)))


def values_counted(layout: Layout) -> int:
    """How many values that are."""
    tables = [*(one.table for one in layout.engines), *(one.table for one in layout.knobs)]
    return sum(table.entries for table in tables)


def row_width(width: int, wide: bool) -> int:
    """The byte of a row that says its width."""
    return width | (WIDE if wide else 0)


def _values(layout: Layout) -> Iterator[bytes]:
    for engine in layout.engines:
        for code in range(engine.table.entries):
            yield (value_at(engine.table, code) % 2**32).to_bytes(4, "big")
    for knob in layout.knobs:
        for reading in range(knob.table.entries):
            yield _u16(value_at(knob.table, reading))


def _u16(value: int) -> bytes:
    return value.to_bytes(2, "big")
