"""Two layouts of one product side by side: values, knobs, presets, bytes, and what becomes of units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from paramc.frozen import dataclass
from paramc.image.codes import code_text
from paramc.image.factory import preset_codes
from paramc.layout.budget import budget
from paramc.layout.codec import Codec, Json
from paramc.layout.earlier.things import number_of_item
from paramc.layout.layout import Kind, Layout
from paramc.model.carry import Fit, carried
from paramc.model.items import Item, Selector, kind_word
from paramc.release.clocks import clock
from paramc.release.facts import Change, item_changes, product_changes
from paramc.release.pairs import Pair, pairs
from paramc.release.passages import Passage, passages
from paramc.tables.forms import data_bytes

FORMAT: Final = 1
"""The number of the form of this data."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two."""

    label: str
    revision: int
    trial: bool
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Named:
    """An item that only one of the two has."""

    item: str
    label: str
    kind: str


@dataclass(frozen=True, slots=True)
class Renamed:
    """An item that has another name."""

    was: str
    now: str
    label: str


@dataclass(frozen=True, slots=True)
class PresetValue:
    """An item of a preset whose value or knob changed.

    was, now: as a person writes them; was of a new item is what it was formerly. clock_was, clock_now: where
    its knob points, None where no knob sets it. sounds: whether the value itself is another.
    """

    item: str
    label: str
    was: str
    now: str
    clock_was: str | None
    clock_now: str | None
    sounds: bool


@dataclass(frozen=True, slots=True)
class PresetChange:
    """A factory preset that is not as it was, by its number from 1. label_was: None where its name stayed."""

    number: int
    label: str
    label_was: str | None
    values: tuple[PresetValue, ...]

    @property
    def sounds(self) -> bool:
        """Whether it sounds different."""
        return any(value.sounds for value in self.values)


@dataclass(frozen=True, slots=True)
class Count:
    """A number of bytes before and after."""

    of: str
    was: int
    now: int


@dataclass(frozen=True, slots=True)
class Units:
    """What becomes of the values that units of one have stored in the other, and the other way round.
    left_there, left_back: boards whose units do not go, because that revision does not fit them."""

    there: tuple[Passage, ...]
    back: tuple[Passage, ...]
    left_there: tuple[str, ...]
    left_back: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """All of it. units: None where no unit goes from one to the other: they are one revision, or neither was
    planned as what follows the other."""

    format: int
    product: str
    old: Side
    new: Side
    added: tuple[Named, ...]
    gone: tuple[Named, ...]
    renamed: tuple[Renamed, ...]
    changes: tuple[Change, ...]
    presets: tuple[PresetChange, ...]
    costs: tuple[Count, ...]
    units: Units | None


def comparison_value(found: Comparison) -> Json:
    """A comparison as a JSON value."""
    return Codec(Comparison, {}).encode(found)


def compare(old: Layout, new: Layout) -> Comparison | str:
    """What a change from one layout to another does; a sentence where they are of two products."""
    if old.product.code != new.product.code:
        return (
            f"{old.product.label}, 0x{old.product.code:04X}, and {new.product.label},"
            f" 0x{new.product.code:04X}, are two products."
        )
    both = pairs(old, new)
    kept = [pair for pair in both if pair.was is not None and pair.now is not None]
    units = None
    if old.product.revision != new.product.revision and _aligned(old, new, both):
        units = Units(passages(old, new), passages(new, old), _left(old, new), _left(new, old))
    return Comparison(
        format=FORMAT,
        product=new.product.name,
        old=_side(old),
        new=_side(new),
        added=tuple(_named(pair.now) for pair in both if pair.was is None and pair.now is not None),
        gone=tuple(_named(pair.was) for pair in both if pair.now is None and pair.was is not None),
        renamed=tuple(
            Renamed(pair.was.name, pair.now.name, pair.now.label)
            for pair in kept
            if pair.was is not None and pair.now is not None and pair.was.name != pair.now.name
        ),
        changes=(
            *product_changes(old.product, new.product),
            *(change for pair in kept for change in item_changes(old.product, new.product, pair)),
        ),
        presets=tuple(_presets(old, new, both)),
        costs=tuple(_costs(old, new)),
        units=units,
    )


def _left(old: Layout, new: Layout) -> tuple[str, ...]:
    boards = new.product.boards
    return tuple(name for place, name in old.product.boards.items() if boards and place not in boards)


def _side(layout: Layout) -> Side:
    product = layout.product
    return Side(product.label, product.revision, layout.trial, f"{layout.fingerprint:08X}")


def _named(item: Item) -> Named:
    return Named(item.name, item.label, kind_word(item))


def _presets(old: Layout, new: Layout, both: tuple[Pair, ...]) -> Iterator[PresetChange]:
    """The presets that changed, among the slots that both have."""
    labels = [{one.number: one.label for one in layout.product.presets} for layout in (old, new)]
    slots = min(layout.product.holds.preset_slots for layout in (old, new))
    for number in range(1, slots + 1):
        codes = [
            dict(zip((item.name for item in layout.product.per_preset), preset_codes(layout, number - 1),
                     strict=True))
            for layout in (old, new)
        ]  # fmt: skip
        values = tuple(
            value
            for pair in both
            if (value := _preset_value(old, new, pair, codes[0], codes[1])) is not None
        )
        was, now = labels[0].get(number, ""), labels[1].get(number, "")
        if values or was != now:
            yield PresetChange(number, now, was if was != now else None, values)


def _preset_value(
    old: Layout, new: Layout, pair: Pair, before: dict[str, int], after: dict[str, int]
) -> PresetValue | None:
    """What changed of one item in a preset; None where nothing did, or where one of the two has it not."""
    was, now = pair.was, pair.now
    if now is None or now.name not in after:
        return None
    if was is None:
        return _new_value(old, new, now, before, after[now.name])
    if was.name not in before:
        return None
    one, other = before[was.name], after[now.name]
    there = carried(was, now, one)
    sounds = there is None or there.fit is not Fit.SAME or there.code != other
    clocks = clock(old.product, was, one), clock(new.product, now, other)
    moved = clocks[0] != clocks[1] and None not in clocks
    if not sounds and not moved:
        return None
    texts = code_text(was, one), code_text(now, other)
    return PresetValue(now.name, now.label, *texts, *clocks, sounds)


def _new_value(old: Layout, new: Layout, item: Item, before: dict[str, int], code: int) -> PresetValue | None:
    """A new item of a preset, where the preset has it otherwise than units sound without it."""
    since = item.history.since_before(old.product.revision)
    if since is None:
        return None
    formerly = item.default if since.formerly is None else since.formerly
    if since.by in before:
        decider = old.product.item(since.by)
        assert isinstance(decider, Selector)
        way = decider.way(before[since.by]).name
        formerly = next((became.code for became in since.became if became.way == way), formerly)
    if formerly == code:
        return None
    texts = code_text(item, formerly), code_text(item, code)
    return PresetValue(item.name, item.label, *texts, None, clock(new.product, item, code), True)


def _aligned(old: Layout, new: Layout, both: tuple[Pair, ...]) -> bool:
    """Whether permanent numbers mean the same in both: between two trials by themselves they need not."""
    return all(
        number_of_item(old, pair.was.name) == number_of_item(new, pair.now.name)
        for pair in both
        if pair.was is not None and pair.now is not None
    )


def _costs(old: Layout, new: Layout) -> Iterator[Count]:
    """The memory in use, each record, and the flash of the tables."""
    before, after = budget(old), budget(new)
    yield Count("memory", before.size - before.free, after.size - after.free)
    for kind in Kind:
        records = [layout.record(kind) for layout in (old, new)]
        lengths = [0 if record is None else record.length for record in records]
        growths = [0 if record is None else record.growth for record in records]
        if any(lengths):
            yield Count(f"a record of {kind.value}", *lengths)
            if kind is not Kind.IDENTITY:
                yield Count(f"growth left in {kind.value}", *growths)
    yield Count("flash of tables", _flash(old), _flash(new))


def _flash(layout: Layout) -> int:
    tables = [*(one.table for one in layout.engines), *(one.table for one in layout.knobs)]
    return sum(data_bytes(table) for table in tables)
