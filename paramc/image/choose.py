"""Which of several layouts a dump is to be read by: its own identity decides, and nothing is guessed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from paramc.image.memory import Answer, Contents, Identity, build_of, code_said, read_memory
from paramc.image.reading import Flat
from paramc.image.records import State
from paramc.layout.layout import Layout

ENOUGH_RECORDS: Final = 3
"""Sound records by which a memory is known where no copy of its identity is sound."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A layout at hand, and the dump as far as it reaches that layout's memory. name: of its file."""

    name: str
    layout: Layout
    memory: Flat


@dataclass(frozen=True, slots=True)
class Chosen:
    """The layout that the dump is of, and what it reads there. known_by: sound records, where
    identity could not say it; else 0."""

    candidate: Candidate
    contents: Contents
    known_by: int


_Read = tuple[Candidate, Contents]


def choose(candidates: Sequence[Candidate]) -> Chosen | str:
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
    others = [it.name for it, _ in found if it.layout != first[0].layout]
    if others:
        return (
            f"{first[0].name} and {', '.join(others)} fit the dump alike and differ in what no record tells,"
            " such as factory presets: name the file that the unit was made from."
        )
    return Chosen(*first, known_by)


def _at_hand(read: Iterable[_Read]) -> str:
    products = ((it.layout.product, it.name) for it, _ in read)
    return ", ".join(f"{product.label}, 0x{product.code:04X} ({name})" for product, name in products)
