"""A dump and the layouts at hand: whose it is, where its memory begins, and what else stands in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from paramc.frozen import dataclass
from paramc.image.choose import ENOUGH_RECORDS, Candidate, Chosen, choose, own_identity, sound_records
from paramc.image.memory import Contents, Held, read_memory
from paramc.image.reading import Flat, Loaded, flatten
from paramc.image.records import Reading, State, field_of
from paramc.image.shifts import Shift, shifts
from paramc.layout.layout import FieldKind, Kind, Layout


@dataclass(frozen=True, slots=True)
class AtHand:
    """A layout. name: of its file; released: whether that is a release."""

    name: str
    layout: Layout
    released: bool


@dataclass(frozen=True, slots=True)
class Stray:
    """A place that holds another product's record or a part of one. of: whose, for a sentence."""

    kind: Kind
    address: int
    of: str


@dataclass(frozen=True, slots=True)
class Recognised:
    """A dump in the terms of the layout that it is of.

    shift: by how many bytes its memory stands too high (below zero: too low). strays: places of it that
    another product's records are in. again: what the dump holds once more behind the memory: None nothing
    of it, else how many bytes of that differ. elsewhere: records that would be sound at another distance,
    one for all of them, and that distance; (0, 0) where there is none.
    """

    chosen: Chosen
    shift: int
    strays: tuple[Stray, ...]
    again: int | None
    elsewhere: tuple[int, int]


def recognise(loaded: Loaded, at_hand: Sequence[AtHand], revision: int | None = None) -> Recognised | str:
    """What a dump is of, or why that cannot be known, in whole sentences. Never raises on any bytes.

    A memory that stands too high or too low is read where it stands if a sound identity or three records
    of it do so by one distance; records at other distances are never mixed in.
    """
    answer = choose([_candidate(it, loaded, 0) for it in at_hand], revision)
    shift = 0
    if isinstance(answer, str):
        moved = None if _identified(loaded, at_hand) else _shifted(loaded, at_hand)
        if moved is None or isinstance(moved, str):
            return moved or answer
        code, shift = moved
        own = [it for it in at_hand if it.layout.product.code == code]
        answer = choose([_candidate(it, loaded, shift) for it in own], revision)
        if isinstance(answer, str):
            return answer
    layout = answer.candidate.layout
    others = [it for it in at_hand if it.layout.product.code != layout.product.code]
    strays = _strays(answer.contents, loaded, others, shift)
    chosen = replace(answer, contents=_marked(answer.contents, strays))
    return Recognised(
        chosen, shift, strays, _again(layout, loaded, shift), _elsewhere(answer, loaded, at_hand, shift)
    )


def _candidate(it: AtHand, loaded: Loaded, shift: int) -> Candidate:
    return Candidate(it.name, it.layout, _memory(it.layout, loaded, shift), it.released)


def _memory(layout: Layout, loaded: Loaded, shift: int) -> Flat:
    chip = layout.product.chip
    return flatten(loaded.chunks, loaded.origin(chip.hex_at) + shift, chip.size, chip.blank)


# ---- a memory that stands elsewhere


def _identified(loaded: Loaded, at_hand: Sequence[AtHand]) -> bool:
    """Whether an identity, of whatever product, stands where one should."""
    return any(_read(it.layout, _memory(it.layout, loaded, 0)).identity is not None for it in at_hand)


def _read(layout: Layout, memory: Flat) -> Contents:
    return read_memory(layout, memory.data, memory.gaps)


def _shifted(loaded: Loaded, at_hand: Sequence[AtHand]) -> tuple[int, int] | str | None:
    """The product code and the distance that a dump has enough records at; a sentence where it has them at
    several, which are not alike; None where it has none."""
    found: list[tuple[Layout, Shift]] = []
    for layout, revisions in _envelopes(at_hand):
        start = loaded.origin(layout.product.chip.hex_at)
        found += [(layout, one) for one in shifts(layout, revisions, loaded.chunks, start) if one.enough]
    if not found:
        return None
    best, shift = found[0]
    first = _memory(best, loaded, shift.by)
    for layout, one in found[1:]:
        same = layout.product.code == best.product.code
        if not same or (one.by != shift.by and _memory(layout, loaded, one.by).data != first.data):
            return (
                f"The dump has records of {best.product.label} {_distance(shift.by)} and of"
                f" {layout.product.label} {_distance(one.by)}, so which of them count cannot be known: read"
                " the unit again."
            )
    return best.product.code, shift.by


def _distance(by: int) -> str:
    return f"{abs(by)} byte{'' if abs(by) == 1 else 's'} too {'high' if by > 0 else 'low'}"


def _envelopes(at_hand: Sequence[AtHand]) -> Iterator[tuple[Layout, frozenset[int]]]:
    """Of each product the layout with most places and the revisions of its releases; each trial alone."""
    largest: dict[int, Layout] = {}
    revisions: dict[int, set[int]] = {}
    for it in at_hand:
        product = it.layout.product
        if it.layout.trial:
            yield it.layout, frozenset({0, product.revision})
            continue
        revisions.setdefault(product.code, set()).add(product.revision)
        known = largest.setdefault(product.code, it.layout)
        if it.layout.end > known.end:
            largest[product.code] = it.layout
    for code, layout in largest.items():
        yield layout, frozenset(revisions[code])


def _again(layout: Layout, loaded: Loaded, shift: int) -> int | None:
    """By how many bytes the memory differs from what looks like the same one behind it."""
    first = _memory(layout, loaded, shift)
    second = _memory(layout, loaded, shift + layout.product.chip.size)
    if second.gaps:
        return None
    contents = _read(layout, second)
    if own_identity(contents) is None and sound_records(contents) < ENOUGH_RECORDS:
        return None
    return sum(one != other for one, other in zip(first.data, second.data, strict=True))


def _elsewhere(
    chosen: Chosen, loaded: Loaded, at_hand: Sequence[AtHand], shift: int
) -> tuple[int, int]:
    """Where something is missing: how many records stand together at another distance, and that distance."""
    layout = chosen.candidate.layout
    if all(number.values is not None for held in chosen.contents.kinds for number in held.numbers):
        return 0, 0
    start = loaded.origin(layout.product.chip.hex_at)
    known = {it.layout.revision_byte for it in at_hand if it.layout.product.code == layout.product.code}
    for one in shifts(layout, known, loaded.chunks, start):
        whole = one.by - shift
        if whole % layout.product.chip.size and one.records + one.identity > 1:
            return one.records + one.identity, whole
    return 0, 0


# ---- other products' records


def _strays(
    contents: Contents, loaded: Loaded, others: Sequence[AtHand], shift: int
) -> tuple[Stray, ...]:
    spans = list(_spans(loaded, others, shift))
    chip = contents.layout.product.chip
    origin = loaded.origin(chip.hex_at)
    found = []
    for held in contents.kinds:
        for place in held.places:
            if place.state not in (State.DAMAGED, State.UNSEALED, State.TRIAL, State.FOREIGN):
                continue
            low, high = origin + place.address, origin + place.address + held.record.length
            of = next((label for start, end, label in spans if start < high and low < end), None)
            if of is None and place.state is State.FOREIGN:
                of = f"product code 0x{_code(held, place):04X}"
            if of is not None:
                found.append(Stray(held.record.kind, place.address, of))
    return tuple(found)


def _code(held: Held, place: Reading) -> int:
    return place.values[field_of(held.record, FieldKind.PRODUCT_CODE)]


def _spans(loaded: Loaded, others: Sequence[AtHand], shift: int) -> Iterator[tuple[int, int, str]]:
    """Where sound records of other products stand: first address, the one behind, whose."""
    for it in others:
        product = it.layout.product
        origin = loaded.origin(product.chip.hex_at)
        for held in _read(it.layout, _memory(it.layout, loaded, shift)).kinds:
            for place in held.places:
                if place.state is State.SOUND:
                    start = origin + place.address
                    yield start, start + held.record.length, product.label


def _marked(contents: Contents, strays: Sequence[Stray]) -> Contents:
    """The contents with those places called foreign."""
    foreign = {(stray.kind, stray.address) for stray in strays}
    kinds = tuple(
        replace(
            held,
            places=tuple(
                replace(place, state=State.FOREIGN) if (held.record.kind, place.address) in foreign else place
                for place in held.places
            ),
        )
        for held in contents.kinds
    )
    return replace(contents, kinds=kinds)
