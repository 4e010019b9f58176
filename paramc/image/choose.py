"""Which layouts a dump is to be read by: its identity's product code decides, then the revision of each
record, and nothing is guessed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from paramc.frozen import dataclass
from paramc.image.memory import Answer, Contents, Identity, build_of, code_said, made_by, read_memory
from paramc.image.reading import Flat
from paramc.image.records import State
from paramc.image.revisions import Carry, read_revisions, saved_by
from paramc.layout.layout import LOOK, Kind, Layout

ENOUGH_RECORDS: Final = 3
"""Sound records by which a memory is known where no copy of its identity is sound."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A layout at hand, and the dump as far as it reaches that layout's memory. name: of its file;
    released: whether that is a release."""

    name: str
    layout: Layout
    memory: Flat
    released: bool = True


@dataclass(frozen=True, slots=True)
class Chosen:
    """The layout in whose terms the dump is read, and what it reads there.

    known_by: sound records, where identity could not say the product; else 0. carried: records that other
    revisions saved, in this one's terms. missing: revisions that saved a record which counts and whose
    release is not at hand, so that its values are not known.
    """

    candidate: Candidate
    contents: Contents
    known_by: int
    carried: tuple[Carry, ...] = ()
    missing: tuple[int, ...] = ()


_Read = tuple[Candidate, Contents]


def choose(candidates: Sequence[Candidate], revision: int | None = None) -> Chosen | str:
    """The layout that a dump is to be read by, or why there is none, in whole sentences.

    Its product is the one that the dump is of. Among the releases of that the latest one counts by which
    a record was saved, because the unit has its firmware; or the revision that is asked for. A trial's
    layout counts where identity names that very trial, where a record of the player's is its own, and
    where nothing else is at hand.
    """
    if not candidates:
        return "There is no layout to read the dump by."
    read = [(it, read_memory(it.layout, it.memory.data, it.memory.gaps)) for it in candidates]
    found = _product(read)
    if isinstance(found, str):
        return found
    code, known_by = found
    ours = [(it, contents) for it, contents in read if it.layout.product.code == code]
    family = _family(ours)
    return family if isinstance(family, str) else _in_one(family, ours, known_by, revision)


def sound_records(contents: Contents) -> int:
    """How many numbers have a record whose checksum holds, identity aside: that of each has the product
    code in it."""
    return sum(
        number.answer is not Answer.MISSING
        for held in contents.kinds
        for number in held.numbers
        if held.record.kind is not Kind.IDENTITY
    )


def own_identity(contents: Contents) -> Identity | None:
    """The identity, if it is of the layout's product."""
    identity = contents.identity
    if identity is None or identity.product_code != contents.layout.product.code:
        return None
    return identity


# ---- the product


def _product(read: Sequence[_Read]) -> tuple[int, int] | str:
    """The product code of a dump, and the records that it is known by, 0 where identity says it."""
    counts: dict[int, int] = {}
    for it, contents in read:
        code = it.layout.product.code
        counts[code] = max(counts.get(code, 0), sound_records(contents))
    said = {it.layout.product.code for it, contents in read if own_identity(contents) is not None}
    if len(said) == 1:
        return said.pop(), 0
    if said:
        counts = {code: count for code, count in counts.items() if code in said}
    elif any(contents.identity is not None for _, contents in read):
        return _unknown(read, 0)
    most = max(counts.values())
    first = [code for code, count in counts.items() if count == most]
    if not said and most < ENOUGH_RECORDS:
        return _unknown(read, most)
    if len(first) > 1:
        labels = sorted({it.layout.product.label for it, _ in read if it.layout.product.code in first})
        both = " as of ".join(labels)
        return f"The dump is a mix: it has as much of {both}, so whose it is cannot be known."
    return first[0], 0 if said else most


def _unknown(read: Sequence[_Read], most: int) -> str:
    for _, contents in read:
        if contents.identity is not None:
            said = f"The dump is of product code 0x{contents.identity.product_code:04X}"
            return f"{said}; the layouts at hand are of {_at_hand(read)}."
    states = [{place.state for held in contents.kinds for place in held.places} for _, contents in read]
    if {State.BLANK} in states:
        return "The dump is blank: every place of a record is erased."
    if all(one == {State.UNREAD} for one in states):
        return "The dump gives no byte where a layout at hand has a record; are its addresses right?"
    codes = sorted({f"0x{code_said(it.layout, it.memory.data):04X}" for it, _ in read})
    return (
        "No copy of identity in the dump is sound under a layout at hand, nor are enough other records"
        f" ({most} of the {ENOUGH_RECORDS} that it takes), so whose it is cannot be known. Where its product"
        f" code should stand it has {' or '.join(codes)}; the layouts at hand are of {_at_hand(read)}."
    )


def _at_hand(read: Iterable[_Read]) -> str:
    files: dict[str, list[str]] = {}
    for it, _ in read:
        product = it.layout.product
        files.setdefault(f"{product.label}, 0x{product.code:04X}", []).append(it.name)
    more = {whose: f" and {len(names) - 1} more" if len(names) > 1 else "" for whose, names in files.items()}
    return ", ".join(f"{whose} ({names[0]}{more[whose]})" for whose, names in files.items())


# ---- its revisions


def _family(ours: Sequence[_Read]) -> dict[int, Candidate] | str:
    """One layout for each revision of the product, 0 for a trial's, or why they cannot be told."""
    identity = next((said for _, contents in ours for said in [own_identity(contents)] if said), None)
    made = [it for it, _ in ours if identity is not None and made_by(identity, it.layout)]
    releases = [it for it, _ in ours if not it.layout.trial]
    of_its_revision = any(
        identity is not None and it.layout.revision_byte == identity.revision for it in releases
    )
    if identity is not None and not made and (identity.trial or of_its_revision):
        return _build_missing(identity, ours)
    trials = [it for it in made if it.layout.trial] or [
        it for it, contents in ours if it.layout.trial and (not releases or _saved_in(contents))
    ]
    numbers = {it.layout.revision_byte for it in releases}
    trials = [it for it in trials if it in made or not _misreads(it.layout, identity, numbers)]
    if identity is not None and not trials and not releases:
        return _build_missing(identity, ours)
    family: dict[int, Candidate] = {}
    # The build that made the unit stands for its revision, whatever else goes by the same number.
    for it in (*made, *trials, *releases):
        known = family.setdefault(it.layout.revision_byte, it)
        settled = known in made and it not in made
        if known.layout != it.layout and not settled:
            return (
                f"{known.name} and {it.name} fit the dump alike and differ in what no record tells,"
                " such as factory presets: name the file that the unit was made from."
            )
    anchor = made[0] if made else family[max(family)]
    return {byte: it for byte, it in family.items() if it is anchor or siblings(anchor.layout, it.layout)}


def _misreads(trial: Layout, identity: Identity | None, released: set[int]) -> bool:
    """Whether a trial takes the records of the revision that it wants to become for other than they are:
    the unit was made by a release of that number which means something else, and is not at hand."""
    if identity is None or identity.revision in released or identity.revision != trial.product.revision:
        return False
    return identity.fingerprint != trial.fingerprint


def _saved_in(contents: Contents) -> bool:
    """Whether a record of the player's is the trial's own."""
    return any(
        place.state is State.SOUND and place.revision == 0
        for held in contents.kinds
        if held.record.kind in LOOK
        for place in held.places
    )


def _in_one(
    family: dict[int, Candidate], ours: Sequence[_Read], known_by: int, revision: int | None
) -> Chosen | str:
    """The dump in the terms of one of its product's revisions, each record read by its own."""
    if revision is not None and revision not in family:
        product = ours[0][0].layout.product
        return f"No release of {product.label}, revision {revision}, is at hand."
    layouts = [it.layout for it in family.values()]
    memory = next(iter(family.values())).memory
    target = family[_own(family, ours, memory) if revision is None else revision]
    read = read_revisions(target.layout, layouts, memory.data, memory.gaps)
    missing = tuple(sorted(set(_unread(read.contents))))
    return Chosen(target, read.contents, known_by, read.carried, missing)


def _own(family: dict[int, Candidate], ours: Sequence[_Read], memory: Flat) -> int:
    """The revision of the firmware that the unit seems to have."""
    if 0 in family:
        return 0
    found = saved_by([it.layout for it in family.values()], memory.data, memory.gaps) & set(family)
    if found:
        return max(found)
    stamped = (said.revision for _, contents in ours for said in [own_identity(contents)] if said)
    return next((byte for byte in stamped if byte in family), max(family))


def _unread(contents: Contents) -> Iterator[int]:
    for held in contents.kinds:
        for number in held.numbers:
            if number.reading is not None and number.values is None:
                yield number.reading.revision


def _build_missing(identity: Identity, ours: Iterable[_Read]) -> str:
    candidates = [it for it, _ in ours]
    product = candidates[0].layout.product
    there = "; ".join(f"{it.name} is of {build_of(it.layout)}" for it in candidates)
    return (
        f"The unit is {product.label}, 0x{product.code:04X}, made by {identity.build}, and {there}: the"
        " layout of that build is needed."
    )


def siblings(one: Layout, other: Layout) -> bool:
    """Whether two layouts are revisions of one product, with records in the same places."""
    if one.product.code != other.product.code:
        return False
    chip, theirs = one.product.chip, other.product.chip
    if (chip.checksum, chip.size, chip.hex_at) != (theirs.checksum, theirs.size, theirs.hex_at):
        return False
    return all(
        mine.length == record.length
        and all(a == b for a, b in zip(mine.places, record.places, strict=False))
        for mine in one.records
        for record in other.records
        if mine.kind is record.kind
    )
