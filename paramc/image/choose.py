"""Which of several layouts a dump is to be read by: its own identity decides, and nothing is guessed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from paramc.image.memory import Answer, Contents, Identity, build_of, code_said, read_memory
from paramc.image.reading import Flat
from paramc.image.records import State
from paramc.image.revisions import Carry, read_revisions, saved_by
from paramc.layout.layout import Layout

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
    """The layout that the dump is of, and what it reads there. known_by: sound records, where
    identity could not say it; else 0. carried: records that other revisions saved, in this one's terms."""

    candidate: Candidate
    contents: Contents
    known_by: int
    carried: tuple[Carry, ...] = ()


_Read = tuple[Candidate, Contents]


def choose(candidates: Sequence[Candidate], revision: int | None = None) -> Chosen | str:
    """The layout that a dump is to be read by, or why there is none, in whole sentences.

    Its product is the one that the dump is of. Among the releases of that the latest one counts by which
    a record was saved, because the unit has its firmware; or the revision that is asked for.
    """
    chosen = _by_identity(candidates)
    return chosen if isinstance(chosen, str) else _by_records(chosen, candidates, revision)


def _by_records(chosen: Chosen, candidates: Sequence[Candidate], revision: int | None) -> Chosen | str:
    """The same dump, each of its records read by the layout of its own revision."""
    own = chosen.candidate
    siblings = {own.layout.revision_byte: own}
    for it in candidates:
        if not own.layout.trial and _siblings(own.layout, it.layout):
            siblings.setdefault(it.layout.revision_byte, it)
    if revision is not None and (revision not in siblings or own.layout.trial):
        product = own.layout.product
        return f"No release of {product.label}, revision {revision}, is at hand."
    layouts = [it.layout for it in siblings.values()]
    memory = own.memory
    found = saved_by(layouts, memory.data, memory.gaps)
    wanted = max(found, default=own.layout.revision_byte) if revision is None else revision
    target = siblings[wanted]
    if len(siblings) == 1:
        return chosen
    read = read_revisions(target.layout, layouts, memory.data, memory.gaps)
    return Chosen(target, read.contents, chosen.known_by, read.carried)


def _siblings(one: Layout, other: Layout) -> bool:
    """Whether two layouts are releases of one product, with records in the same places."""
    if other.trial or one.product.code != other.product.code:
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


def _by_identity(candidates: Sequence[Candidate]) -> Chosen | str:
    """The layout with the product, revision and fingerprint that the dump's identity tells; where no copy
    of that is sound, the one that most of its records fit. Or why there is none, in whole sentences."""
    if not candidates:
        return "There is no layout to read the dump by."
    read = [(it, read_memory(it.layout, it.memory.data, it.memory.gaps)) for it in candidates]
    exact = [(it, contents) for it, contents in read if contents.made_by_layout]
    if exact:
        return _only(exact, 0)
    for it, contents in read:
        if contents.identity is not None and contents.identity.product_code == it.layout.product.code:
            return _build_missing(contents.identity, it.layout, read)
    counts = [_sound_records(contents) for _, contents in read]
    most = max(counts)
    if most >= ENOUGH_RECORDS:
        return _only([one for one, count in zip(read, counts, strict=True) if count == most], most)
    return _unknown(read, most)


def _build_missing(identity: Identity, layout: Layout, read: Iterable[_Read]) -> str:
    product = layout.product
    made = identity.build
    there = "; ".join(
        f"{it.name} is of {build_of(it.layout)}"
        for it, _ in read
        if it.layout.product.code == product.code
    )
    return (
        f"The unit is {product.label}, 0x{product.code:04X}, made by {made}, and {there}: the layout of that"
        " build is needed."
    )


def _sound_records(contents: Contents) -> int:
    """How many numbers are sound: the checksum of each has the product code in it."""
    return sum(number.answer is Answer.SOUND for held in contents.kinds for number in held.numbers)


def _unknown(read: Sequence[_Read], most: int) -> str:
    for _, contents in read:
        if contents.identity is not None:
            said = f"The dump is of product code 0x{contents.identity.product_code:04X}"
            return f"{said}; the layouts at hand are of {_at_hand(read)}."
    states = {place.state for _, contents in read for held in contents.kinds for place in held.places}
    if states == {State.BLANK}:
        return "The dump is blank: every place of a record is erased."
    if states == {State.UNREAD}:
        return "The dump gives no byte where a layout at hand has a record; are its addresses right?"
    codes = sorted({f"0x{code_said(it.layout, it.memory.data):04X}" for it, _ in read})
    return (
        "No copy of identity in the dump is sound under a layout at hand, nor are enough other records"
        f" ({most} of the {ENOUGH_RECORDS} that it takes), so whose it is cannot be known. Where its product"
        f" code should stand it has {' or '.join(codes)}; the layouts at hand are of {_at_hand(read)}."
    )


def _only(found: Sequence[_Read], known_by: int) -> Chosen | str:
    first = found[0]
    mine = first[0].layout
    # Several revisions of one product fit side by side: each record says which it is of.
    others = [
        it.name
        for it, _ in found
        if it.layout != mine
        and not (it.layout.revision_byte != mine.revision_byte and _siblings(mine, it.layout))
    ]
    if others:
        return (
            f"{first[0].name} and {', '.join(others)} fit the dump alike and differ in what no record tells,"
            " such as factory presets: name the file that the unit was made from."
        )
    return Chosen(*first, known_by)


def _at_hand(read: Iterable[_Read]) -> str:
    products = ((it.layout.product, it.name) for it, _ in read)
    return ", ".join(f"{product.label}, 0x{product.code:04X} ({name})" for product, name in products)
