"""A memory in which several revisions have saved, read as one of them: each record by its own layout."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paramc.frozen import dataclass
from paramc.image.convert import Moved, move
from paramc.image.memory import Contents, Held, contents_of, number_of, read_place
from paramc.image.records import Reading, State
from paramc.layout.layout import Kind, Layout, Record


@dataclass(frozen=True, slots=True)
class Carry:
    """A record that another revision saved. number: which of its kind's; revision: the one that saved it;
    values: what became of each."""

    kind: Kind
    number: int
    revision: int
    values: tuple[Moved, ...]


@dataclass(frozen=True, slots=True)
class Revisions:
    """A memory as one layout reads it, with the records of other revisions in its terms. carried: those of
    them that count, in the order of the kinds."""

    contents: Contents
    carried: tuple[Carry, ...]


def saved_by(layouts: Sequence[Layout], memory: bytes, gaps: Sequence[range] = ()) -> set[int]:
    """The revisions of these layouts of which a sound record stands in a memory."""
    return {
        reading.revision
        for layout in layouts
        for record in layout.records
        for address in record.places
        if (reading := read_place(layout, record, address, memory, gaps)).state is State.SOUND
    }


def read_revisions(
    target: Layout, layouts: Sequence[Layout], memory: bytes, gaps: Sequence[range] = ()
) -> Revisions:
    """Every place read by the layout of its own revision byte, in the terms of one of them.

    layouts: of one product, at most one a revision and one trial's, the target among them. A place of
    another revision says so, and has values all the same. Never raises on any bytes.
    """
    by_revision = {layout.revision_byte: layout for layout in layouts}
    kinds = []
    told: dict[tuple[Kind, int], tuple[Moved, ...]] = {}
    for record in target.records:
        readings = tuple(_places(target, record, by_revision, memory, gaps, told))
        kinds.append(Held(record, readings, tuple(number_of(at, readings) for at in range(record.numbers))))
    carried = tuple(
        Carry(held.record.kind, number.number, number.reading.revision, told[held.record.kind, place])
        for held in kinds
        for number in held.numbers
        if number.reading is not None
        for place in [number.reading.address]
        if (held.record.kind, place) in told
    )
    return Revisions(contents_of(target, kinds, layouts), carried)


def _places(
    target: Layout,
    record: Record,
    by_revision: dict[int, Layout],
    memory: bytes,
    gaps: Sequence[range],
    told: dict[tuple[Kind, int], tuple[Moved, ...]],
) -> Iterator[Reading]:
    kind = record.kind
    if kind is Kind.IDENTITY:  # laid out alike in every revision, and it says which one made the unit
        yield from (read_place(target, record, address, memory, gaps) for address in record.places)
        return
    of_kind = {revision: one.record(kind) for revision, one in by_revision.items()}
    addresses = {place for one in of_kind.values() if one is not None for place in one.places}
    for address in sorted(addresses | set(record.places)):
        revision = memory[address] if address < len(memory) else target.revision_byte
        theirs = of_kind.get(revision)
        if theirs is not None and revision != target.revision_byte and address in theirs.places:
            layout = by_revision[revision]
            reading = read_place(layout, theirs, address, memory, gaps)
            if reading.state is State.SOUND:
                assert reading.number is not None
                values, told[kind, address] = move(layout, target, kind, reading.values, reading.number)
                age = _age(layout.product.revision, target.product.revision)
                yield Reading(address, age, revision, reading.counter, reading.number, values)
                continue
        if address in record.places:
            yield read_place(target, record, address, memory, gaps)


def _age(revision: int, of: int) -> State:
    """What a record of a revision is to a later or earlier one; a trial's has the revision that it wants."""
    if revision == of:
        return State.SOUND
    return State.OLDER if revision < of else State.NEWER
