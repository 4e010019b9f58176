"""What each kind of record costs, how long it lasts and what its checksum keeps out: numbers, no text."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.frozen import dataclass
from paramc.layout.effort import bus_seconds, longest_step_seconds, page_writes, write_seconds
from paramc.layout.layout import HEAD_BYTES, LOOK, Kind, Layout, Record
from paramc.layout.wear import cycles_a_save, places_of_one, says_no_saves, years
from paramc.numbers import hamming

BUS_CLOCKS: Final = (100_000, 400_000)
"""Hertz: the Standard-mode and the Fast-mode of the I2C-bus specification."""


@dataclass(frozen=True, slots=True)
class Cost:
    """Where the bytes of one kind go. chosen: the file leaves the number of its places open.

    A record is head, payload_bits and padding_bits (0 to 7, to the byte's end), growth and checksum;
    record_bytes is their sum. idle_bytes: of each place behind the record, to the page's end.
    total_bytes: of all places.
    """

    kind: Kind
    places: int
    chosen: bool
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

    saves: a day; common: the file does not say them, so they are what is common. places: those that
    the saves of one number spread over. cycles: of that cell in a save. years: to the endurance; None
    where the player never saves.
    """

    kind: Kind
    saves: int
    common: bool
    places: int
    cycles: int
    years: Fraction | None


@dataclass(frozen=True, slots=True)
class Save:
    """What the longest save of one number of a kind takes: every byte differs from what stood there.

    In writes, each of a page at most, or of a byte where the memory is written byte by byte, by the
    steps of a save: the seal of the next place is broken, the body and the checksum are written, the
    copy before is retired. further: copies beside it that cuts can have left at the most; each is
    retired by a write more. seconds: what the memory takes for the writes, without those copies, at
    its typical longest time.
    """

    kind: Kind
    seal: int
    body: int
    checksum: int
    retired: int
    further: int
    seconds: Fraction

    @property
    def writes(self) -> int:
        """Without the further copies."""
        return self.seal + self.body + self.checksum + self.retired


@dataclass(frozen=True, slots=True)
class Bus:
    """Times on an I2C bus of so many hertz, in seconds. start: for the bytes of Start, the second
    reading included. longest_step: of saving or opening; a page written, or a place read twice."""

    hertz: int
    start: Fraction
    longest_step: Fraction


@dataclass(frozen=True, slots=True)
class Start:
    """The bytes that a start reads: once, all records. again: those of places without a sound record,
    which at rest are the spare ones; they are read a second time before they are called so."""

    once: int
    again: int


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
    """The whole memory. costs and wears in the order of the regions, saves too, of the player's kinds;
    protections the longest first.

    false_pass: the chance that a record of random bytes is taken for sound. write_seconds: of one
    write, at the longest. buses: none where the memory is written byte by byte, inside a processor.
    All sizes in bytes.
    """

    size: int
    clear: int
    used: int
    free: int
    start: Start
    write_seconds: Fraction
    buses: tuple[Bus, ...]
    costs: tuple[Cost, ...]
    wears: tuple[Wear, ...]
    saves: tuple[Save, ...]
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
        start=_start(records),
        write_seconds=write_seconds(chip),
        buses=() if chip.page == 1 else tuple(_bus(layout, hertz) for hertz in BUS_CLOCKS),
        costs=tuple(_cost(layout, record) for record in records),
        wears=tuple(_wear(layout, record) for record in records),
        saves=tuple(_save(layout, record) for record in records if record.kind in LOOK),
        protections=_protections(layout),
        false_pass=hamming.false_pass(chip.checksum),
    )


def _cost(layout: Layout, record: Record) -> Cost:
    checksum = layout.product.chip.checksum.size
    body = record.length - HEAD_BYTES - record.growth - checksum
    return Cost(
        kind=record.kind,
        places=len(record.places),
        chosen=record.kind.value in layout.product.holds.chosen,
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


def _wear(layout: Layout, record: Record) -> Wear:
    return Wear(
        kind=record.kind,
        saves=record.saves,
        common=says_no_saves(layout.product.holds, record.kind),
        places=places_of_one(record),
        cycles=cycles_a_save(layout.product.chip),
        years=years(layout.product.chip, record),
    )


def _save(layout: Layout, record: Record) -> Save:
    chip = layout.product.chip
    body, checksum = page_writes(chip, record)
    # One byte breaks a seal, and a finished save leaves one copy, so there is one to retire.
    seal = retired = 1
    return Save(
        kind=record.kind,
        seal=seal,
        body=body,
        checksum=checksum,
        retired=retired,
        further=places_of_one(record) - 1 - retired,
        seconds=(seal + body + checksum + retired) * write_seconds(chip),
    )


def _start(records: tuple[Record, ...]) -> Start:
    return Start(
        once=sum(len(record.places) * record.length for record in records),
        again=sum(_unsound_at_rest(record) * record.length for record in records),
    )


def _bus(layout: Layout, hertz: int) -> Bus:
    chip, records = layout.product.chip, layout.records
    return Bus(
        hertz=hertz,
        start=sum(
            (
                (len(record.places) + _unsound_at_rest(record)) * bus_seconds(chip, record.length, hertz)
                for record in records
            ),
            Fraction(0),
        ),
        longest_step=longest_step_seconds(chip, records, hertz),
    )


def _unsound_at_rest(record: Record) -> int:
    """Places without a sound record while no save is under way; the bench fills all of its own."""
    return len(record.places) - record.numbers if record.kind in LOOK else 0


def _protections(layout: Layout) -> tuple[Protection, ...]:
    checksum = layout.product.chip.checksum
    alike: dict[int, list[Kind]] = {}
    for record in layout.records:
        alike.setdefault(8 * (record.length - checksum.size), []).append(record.kind)
    return tuple(
        Protection(tuple(alike[bits]), bits, hamming.distance(checksum, bits))
        for bits in sorted(alike, reverse=True)
    )
