"""Keys of the layout file that say once more, and plainly, what a reader would have to work out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from paramc.layout.codec import Derived
from paramc.layout.layout import LOOK, Kind, Layout, Record
from paramc.model.scale import Scale, Stepped
from paramc.numbers.crc import Algorithm


def cover(layout: Layout, kind: Kind) -> tuple[bytes, bytes]:
    """What the checksum of a record covers before its byte 0: the bytes in front of the two of its
    place's address (high byte first) and those behind them."""
    if kind is Kind.IDENTITY:
        return b"", b""
    before = layout.product.code.to_bytes(2, "big")
    if not layout.trial:
        return before, b""
    number = layout.look_fingerprint if kind in LOOK else layout.bench_fingerprint
    return before, number.to_bytes(4, "big")


def _written(algorithm: Algorithm) -> str:
    digits = algorithm.width // 4
    return (
        f"width {algorithm.width} poly 0x{algorithm.poly:0{digits}X} start 0x{algorithm.init:0{digits}X}"
        f"{' reflected' if algorithm.reflected else ''} final 0x{algorithm.xorout:0{digits}X}"
        f" check 0x{algorithm.check:0{digits}X}"
    )


DERIVED: Final[Mapping[type, Sequence[Derived]]] = MappingProxyType(
    {
        Layout: (
            Derived("revision_byte", int, lambda layout, it: it.revision_byte, "Byte 0 of every record."),
        ),
        Algorithm: (
            Derived("bytes", int, lambda layout, it: it.size, "Bytes that the stored checksum takes."),
            Derived(
                "stored",
                str,
                lambda layout, it: "low byte first" if it.reflected else "high byte first",
                "The order of the stored checksum's bytes, whatever the order of the fields.",
            ),
            Derived(
                "written",
                str,
                lambda layout, it: _written(it),
                "The same numbers as a product file writes them.",
            ),
        ),
        Scale: (
            Derived("codes", int, lambda layout, it: it.codes, "How many codes there are, from 0."),
            Derived(
                "each",
                Fraction | None,
                lambda layout, it: it.signed_step if isinstance(it.grid, Stepped) else None,
                "What one code more adds to the value; null where the taper says it.",
            ),
        ),
        Record: (
            Derived(
                "cover_before",
                str,
                lambda layout, it: cover(layout, it.kind)[0].hex().upper(),
                "Bytes, in hexadecimal, that are fed to the checksum first.",
            ),
            Derived(
                "cover_behind",
                str,
                lambda layout, it: cover(layout, it.kind)[1].hex().upper(),
                "Bytes that are fed to it behind the two of the place's address, high byte first, and"
                " before the record's byte 0.",
            ),
        ),
    }
)
"""The derived keys of each class, in their order behind its own."""
