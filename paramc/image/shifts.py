"""Where in a dump a product's records stand, if they do not stand where its layout has them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final, Literal

from paramc.frozen import dataclass
from paramc.image.choose import ENOUGH_RECORDS
from paramc.image.files import Chunk
from paramc.image.records import cover, field_of
from paramc.layout.layout import FieldKind, Kind, Layout, Record
from paramc.numbers import crc

MOST_SUMS: Final = 60_000
"""Checksums worked out for one product in one dump, so that no dump takes more than about a second."""

_UNSEALED: Final = frozenset({0x00, 0xFF})


@dataclass(frozen=True, slots=True)
class Shift:
    """A distance at which records stand. by: bytes from where the layout has them, positive towards higher
    addresses; identity: whether a sound one is among them; records: how many others are."""

    by: int
    identity: bool
    records: int

    @property
    def enough(self) -> bool:
        """Whether that many records at one distance are no accident."""
        return self.identity or self.records >= ENOUGH_RECORDS


def shifts(layout: Layout, revisions: Collection[int], chunks: Sequence[Chunk], start: int) -> list[Shift]:
    """Every distance at which a sound record of a layout's envelope stands, the one with most records first.

    revisions: those whose records count, 0 for the layout's own trial. start: the address that the
    memory's first byte should have.
    """
    found: dict[int, set[tuple[Kind, int]]] = {}
    sums = MOST_SUMS
    for chunk in chunks:
        for record in layout.records:
            for revision in sorted(revisions):
                for at, address in _stray(layout, record, revision, chunk.data, sums):
                    sums -= 1
                    if address is not None:
                        by = chunk.address + at - start - address
                        found.setdefault(by, set()).add((record.kind, address))
    ordered = sorted(found.items(), key=lambda one: (-len(one[1]), abs(one[0]), one[0]))
    return [
        Shift(by, any(kind is Kind.IDENTITY for kind, _ in held), _others(held)) for by, held in ordered
    ]


def _others(held: set[tuple[Kind, int]]) -> int:
    return sum(kind is not Kind.IDENTITY for kind, _ in held)


def _stray(
    layout: Layout, record: Record, revision: int, data: bytes, most: int
) -> Iterator[tuple[int, int | None]]:
    """The offsets of data at which a record could stand, each with the place that its checksum has in it,
    None where it has none.

    A CRC is linear: two records that differ in the address alone, which stands before them, differ by a
    number of the two addresses. So one sum is enough for all places.
    """
    algorithm = layout.product.chip.checksum
    covered = record.length - algorithm.size
    first = record.places[0]
    lead = crc.update(algorithm, crc.start(algorithm), cover(layout, record.kind, first, revision))
    zeros = bytes(covered)
    base = crc.update(algorithm, lead, zeros)
    places = {
        base ^ crc.update(algorithm, crc.start(algorithm), lead_of + zeros): place
        for place in record.places
        for lead_of in [cover(layout, record.kind, place, revision)]
    }
    code_at = 0
    if record.kind is Kind.IDENTITY:
        code_at = record.fields[field_of(record, FieldKind.PRODUCT_CODE)].bit // 8
    code = layout.product.code.to_bytes(2, "big")
    order: Literal["little", "big"] = "little" if algorithm.reflected else "big"
    head = bytes((revision,))
    at = data.find(head)
    while 0 <= at <= len(data) - record.length and most:
        behind = data[at + covered : at + record.length]
        ours = not code_at or data[at + code_at : at + code_at + 2] == code
        if ours and not _UNSEALED & set(behind):
            most -= 1
            value = crc.finish(algorithm, crc.update(algorithm, lead, data[at : at + covered]))
            yield at, places.get(value ^ int.from_bytes(behind, order))
        at = data.find(head, at + 1)
