"""What each kind of record costs, how long it lasts and what its checksum keeps out: numbers, no text."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from paramc.layout.layout import HEAD_BYTES, Kind, Layout, Record
from paramc.layout.wear import cycles_a_save, places_of_one, years
from paramc.numbers import hamming


@dataclass(frozen=True, slots=True)
class Cost:
    """Where the bytes of one kind go.

    A record is head, payload_bits and padding_bits (0 to 7, to the byte's end), growth and checksum;
    record_bytes is their sum. idle_bytes: of each place behind the record, to the page's end.
    total_bytes: of all places.
    """

    kind: Kind
    places: int
    numbers: int
    head_bytes: int
    payload_bits: int
    padding_bits: int
    growth_bytes: int
    checksum_bytes: int
    record_bytes: int
    idle_bytes: int
    total_bytes: int


@dataclass(frozen=True, slots=True)
class Wear:
    """How long the hardest-worked cell of a kind lasts, all saves on one number.

    saves: a day. places: those that the saves of one number spread over. cycles: of that cell in a
    save. years: to the endurance; None where the player never saves.
    """

    kind: Kind
    saves: int
    places: int
    cycles: int
    years: Fraction | None


@dataclass(frozen=True, slots=True)
class Protection:
    """What the checksum keeps out of the records of some kinds that are equally long.

    distance: the fewest flipped bits that it can miss, 2 to 4, or hamming.AT_LEAST for that and more.
    data_bits: the record without its checksum; what is fed in but not stored cannot be damaged.
    """

    kinds: tuple[Kind, ...]
    data_bits: int
    distance: int


@dataclass(frozen=True, slots=True)
class Budget:
    """The whole memory. costs and wears in the order of the regions, protections the longest first.

    false_pass: the chance that a record of random bytes is taken for sound. read_at_start: bytes of
    all records, which is what a start reads. All sizes in bytes.
    """

    size: int
    clear: int
    used: int
    free: int
    read_at_start: int
    costs: tuple[Cost, ...]
    wears: tuple[Wear, ...]
    protections: tuple[Protection, ...]
    false_pass: Fraction


def budget(layout: Layout) -> Budget:
    """The budget of a layout. The clear zone and what a page edge costs before the first place are
    one: clear."""
    chip, records = layout.product.chip, layout.records
    clear = records[0].places[0]
    used = sum(len(record.places) * record.place_bytes for record in records)
    return Budget(
        size=chip.size,
        clear=clear,
        used=used,
        free=chip.size - clear - used,
        read_at_start=sum(len(record.places) * record.length for record in records),
        costs=tuple(_cost(layout, record) for record in records),
        wears=tuple(
            Wear(
                kind=record.kind,
                saves=record.saves,
                places=places_of_one(record),
                cycles=cycles_a_save(chip),
                years=years(chip, record),
            )
            for record in records
        ),
        protections=_protections(layout),
        false_pass=hamming.false_pass(chip.checksum),
    )


def _cost(layout: Layout, record: Record) -> Cost:
    checksum = layout.product.chip.checksum.size
    body = record.length - HEAD_BYTES - record.growth - checksum
    return Cost(
        kind=record.kind,
        places=len(record.places),
        numbers=record.numbers,
        head_bytes=HEAD_BYTES,
        payload_bits=record.payload_bits,
        padding_bits=8 * body - record.payload_bits,
        growth_bytes=record.growth,
        checksum_bytes=checksum,
        record_bytes=record.length,
        idle_bytes=record.place_bytes - record.length,
        total_bytes=len(record.places) * record.place_bytes,
    )


def _protections(layout: Layout) -> tuple[Protection, ...]:
    checksum = layout.product.chip.checksum
    alike: dict[int, list[Kind]] = {}
    for record in layout.records:
        alike.setdefault(8 * (record.length - checksum.size), []).append(record.kind)
    return tuple(
        Protection(tuple(alike[bits]), bits, hamming.distance(checksum, bits))
        for bits in sorted(alike, reverse=True)
    )
