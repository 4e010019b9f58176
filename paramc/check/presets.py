"""The factory presets: what each sets, what it takes from another, and what is left at its default."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from paramc.check import bounds
from paramc.check.name_rules import UNKNOWN_NAME
from paramc.check.nearest import Nearest
from paramc.check.notes import read_notes
from paramc.check.preset_rules import (
    LIKE_CIRCLE,
    LIKE_UNKNOWN,
    PRESET_KEPT_ONCE,
    PRESET_NAME,
    PRESET_TRIM,
    PRESET_TWICE,
)
from paramc.check.quantities import Asked
from paramc.check.statements import said_twice
from paramc.check.values import item_code
from paramc.check.words import called, counted, listed, quoted, short
from paramc.frozen import dataclass
from paramc.model.items import Flag, Item, Param, Selector, Trim, kind_word
from paramc.model.product import Holds, Preset
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark, has_stop
from paramc.text.source import Span

LONGEST_NAME = 200
"""Bytes of a preset's name where the unit does not keep it."""

_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Taken:
    """What a preset stores where that need not be the very value that was written: beside a coded
    grid, or for a clock position."""

    preset: int
    item: str
    written: str
    stored: str
    place: Span


def read_presets(
    blocks: Sequence[nodes.Preset],
    items: Iterable[Item],
    holds: Holds,
    turns: Mapping[str, Fraction],
    found: list[Diagnostic],
    taken: list[Taken] | None = None,
) -> tuple[Preset, ...]:
    """The presets that could be made, by number; what is wrong with the others is told.

    turns: by item the degrees of the first knob that sets it. taken: gets a note for each value that
    is stored as the nearest code.
    """
    shelf = _shelf(items, turns, [] if taken is None else taken)
    first: dict[int, nodes.Preset] = {}
    numbers = {block.number.value for block in blocks}
    free = (number for number in range(1, holds.preset_slots + 1) if number not in numbers)
    made: dict[int, _Own] = {}
    for block in blocks:
        told: list[Diagnostic] = []
        what = f"number of preset {quoted(block.label.value)}"
        number = bounds.whole(block.number, what, 1, holds.preset_slots, told)
        own = shelf.own(block, told)
        _check_name(block, holds, told)
        if number is not None:
            before = first.setdefault(number, block)
            if before is not block:
                told.append(_twice(block, before, free))
            elif own is not None:
                made[number] = own
        subject = f"preset {block.number.value}"
        found.extend(replace(mistake, subject=subject) for mistake in told)
    _check_likes(first, found)
    return _resolved(first, made, shelf)


_Own = Mapping[str, int]
"""The codes that a preset sets itself, by item."""

_Kept = Param | Selector | Flag


@dataclass(frozen=True, slots=True)
class _Shelf:
    """What presets can set. kept: the items kept with every preset, in reading order."""

    items: Mapping[str, Item]
    kept: tuple[_Kept, ...]
    near: Nearest
    turns: Mapping[str, Fraction]
    taken: list[Taken]

    def own(self, block: nodes.Preset, found: list[Diagnostic]) -> _Own | None:
        """What a preset sets itself; None where something in it is wrong."""
        told: list[Diagnostic] = []
        codes: dict[str, int] = {}
        before: dict[str, nodes.Setting] = {}
        for line in block.lines:
            if not isinstance(line, nodes.Setting):
                continue
            name = line.item.text
            if before.setdefault(name, line) is not line:
                sentence = f"Preset {block.number.value} sets {short(name)} twice."
                told.append(said_twice(sentence, line, before[name]))
                continue
            code = self._code(line, block.number.value, told)
            if code is not None:
                codes[name] = code
        found.extend(told)
        return None if has_stop(told) else codes

    def _code(self, line: nodes.Setting, preset: int, found: list[Diagnostic]) -> int | None:
        name = line.item.text
        item = self.items.get(name)
        if item is None:
            sentence = f"Preset {preset} speaks of an item {short(name)}, and there is none."
            near = self.near.to(name) or ""
            found.append(Diagnostic(UNKNOWN_NAME, sentence, line.item.span, try_=near))
            return None
        owner = called(kind_word(item), item.label)
        also = (Mark(item.place, owner),) if item.place else ()
        if isinstance(item, Trim):
            sentence = f"Preset {preset} sets {owner}, which belongs to the bench and to no preset."
            found.append(Diagnostic(PRESET_TRIM, sentence, line.span, also, try_="Leave this line out."))
            return None
        if item.kept_once:
            sentence = f"Preset {preset} sets {owner}, which is kept once for all presets."
            try_ = "Leave this line out."
            found.append(Diagnostic(PRESET_KEPT_ONCE, sentence, line.span, also, try_=try_))
            return None
        asked = Asked(f"value of {owner} in preset {preset}", short(name), also)
        stored = item_code(line.value, item, self.turns.get(name), asked, found)
        if stored is None:
            return None
        if stored.taken is not None:
            self.taken.append(Taken(preset, name, _written(line.value), stored.taken, line.value.span))
        return stored.code


def _written(value: nodes.Value) -> str:
    match value:
        case nodes.Quantity(amount=amount):
            return str(amount)
        case nodes.AtClock(clock=clock):
            return f"at {clock.span.text}"
        case nodes.Name(text=text):
            return text
        case other:
            assert_never(other)


def _shelf(items: Iterable[Item], turns: Mapping[str, Fraction], taken: list[Taken]) -> _Shelf:
    by_name: dict[str, Item] = {}
    for item in items:
        by_name.setdefault(item.name, item)
    kept = tuple(item for item in by_name.values() if not isinstance(item, Trim) and not item.kept_once)
    return _Shelf(by_name, kept, Nearest(item.name for item in kept), turns, taken)


def _twice(block: nodes.Preset, before: nodes.Preset, free: Iterator[int]) -> Diagnostic:
    number = block.number.value
    names = f"{quoted(before.label.value)} and {quoted(block.label.value)}"
    sentence = f"There are two presets {number}, {names}."
    also = (Mark(before.number.span, "the other one"),)
    slot = next(free, None)
    label = block.label.value
    try_ = "" if slot is None or len(label) > LONGEST_NAME else _head(block, slot, label)
    return Diagnostic(PRESET_TWICE, sentence, block.number.span, also, try_=try_)


def _head(block: nodes.Preset, number: int, label: str) -> str:
    """The first line of a preset with another number or label, as a source can say it."""
    escaped = label.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'preset {number} "{escaped}"' + (f" like {block.like.value}" if block.like else "")


def _check_name(block: nodes.Preset, holds: Holds, found: list[Diagnostic]) -> None:
    """The bytes of the name, counted as they are stored."""
    name, most = block.label.value, holds.preset_names or LONGEST_NAME
    data = name.encode("utf-8")
    if len(data) <= most:
        return
    number = block.number.value
    sentence = (
        f"The name of preset {number}, {quoted(name)}, has {counted(len(data), 'byte')} in UTF-8, and"
        f" {most} are the most."
    )
    because = (f"It has {len(name)} characters.",) if len(name) != len(data) else ()
    shorter = data[:most].decode("utf-8", "ignore").rstrip()
    try_ = _head(block, number, shorter)
    found.append(Diagnostic(PRESET_NAME, sentence, block.label.span, because=because, try_=try_))


# ---- like


def _check_likes(blocks: Mapping[int, nodes.Preset], found: list[Diagnostic]) -> None:
    """A stop for each like that leads nowhere, and one for each circle."""
    ends: set[int] = set()
    for number, block in blocks.items():
        if block.like is not None and block.like.value not in blocks:
            other = block.like.value
            sentence = f"Preset {number} is like preset {other}, and there is none."
            because = (f"The presets are {_some(blocks)}.",)
            subject = f"preset {number}"
            place, try_ = block.like.span, f"Leave like {other} out, or write preset {other}."
            found.append(Diagnostic(LIKE_UNKNOWN, sentence, place, (), because, try_, subject))
        chain = _chain(number, blocks, ends)
        ends.update(chain)
        last = blocks[chain[-1]].like if chain else None
        if last is not None and last.value in chain:
            found.append(_circle(chain[chain.index(last.value) :], blocks))


def _chain(number: int, blocks: Mapping[int, nodes.Preset], ends: set[int]) -> list[int]:
    """The presets from one to the one before a repetition, an end, or one looked at before."""
    chain: list[int] = []
    at: int | None = number
    while at is not None and at in blocks and at not in ends and at not in chain:
        chain.append(at)
        like = blocks[at].like
        at = like.value if like else None
    return chain


def _circle(round_: list[int], blocks: Mapping[int, nodes.Preset]) -> Diagnostic:
    start = min(round_)
    turned = round_[round_.index(start) :] + round_[: round_.index(start)]
    like = blocks[start].like
    assert like is not None
    if len(turned) == 1:
        sentence = f"Preset {start} is like itself."
    else:
        pairs = zip(turned, [*turned[1:], start], strict=True)
        links = [f"preset {one} is like {other}" for one, other in pairs]
        sentence = f"The presets go round in a circle: {_shown(links)}."
    likes = [(number, blocks[number].like) for number in turned[1:]]
    also = tuple(Mark(node.span, f"what preset {number} is like") for number, node in likes if node)
    try_ = "Leave like out of one of them."
    return Diagnostic(LIKE_CIRCLE, sentence, like.span, also, try_=try_, subject=f"preset {start}")


def _resolved(
    blocks: Mapping[int, nodes.Preset], made: Mapping[int, _Own], shelf: _Shelf
) -> tuple[Preset, ...]:
    """The presets whose own settings and whose models are all right, by number."""
    done: dict[int, Preset] = {}
    for number in blocks:
        # From the far end of the chain, so that each model is there before it is copied.
        for one in reversed(_chain(number, blocks, set(done))):
            block = blocks[one]
            like = block.like.value if block.like else None
            if one not in made or (like is not None and like not in done):
                continue
            before = [item.default for item in shelf.kept] if like is None else done[like].codes
            own = made[one]
            codes = tuple(
                own.get(item.name, code) for item, code in zip(shelf.kept, before, strict=True)
            )
            notes = read_notes(block.lines)
            done[one] = Preset(one, block.label.value, codes, like, notes, block.number.span)
    return tuple(done[number] for number in sorted(done))


def _some(numbers: Iterable[int]) -> str:
    return _shown([str(number) for number in sorted(numbers)])


def _shown(words: list[str]) -> str:
    """Words joined; those beyond the first few only counted."""
    more = len(words) - _SHOWN
    return listed(words if more <= 0 else [*words[:_SHOWN], f"{more} more"])
