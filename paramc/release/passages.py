"""What becomes of the values that units of one revision have stored, in another: item by item, all codes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from paramc.frozen import dataclass
from paramc.image.codes import code_text
from paramc.image.convert import Fate, become, move
from paramc.image.factory import factory_values
from paramc.layout.layout import Field, FieldKind, Kind, Layout
from paramc.model.items import Item, Trim, is_in_use

MOST_CODES: Final = 512
"""So many codes of an item are looked at, spread evenly with both ends among them; most items have fewer."""

_KINDS: Final = (Kind.BENCH, Kind.SETUP, Kind.PRESETS)
"""State has what a preset has."""


@dataclass(frozen=True, slots=True)
class Passage:
    """An item on its way.

    fate: of the value that fares worst. looked_at: codes that were looked at, 0 where the item is in one of
    the two only; nearest, lost: how many of them do not mean what they meant. was, now: a value of that fate
    and what it becomes. source: what the value comes from where units have none, or what takes its part.
    """

    item: str
    label: str
    bench: bool
    fate: Fate
    looked_at: int
    nearest: int
    lost: int
    was: str | None
    now: str | None
    source: str | None


def passages(old: Layout, new: Layout) -> tuple[Passage, ...]:
    """Every item that is not the same in the new layout, by permanent numbers: those that units of the old
    one have first, then those that they get."""
    found: list[Passage] = []
    for kind in _KINDS:
        before, after = _items(old, kind), _items(new, kind)
        for number, item in before.items():
            now = after.get(number)
            found += _kept(old, new, item, now) if now is not None else [_dropped(old, new, number, item)]
        if after.keys() - before.keys():
            found += _coming(old, new, kind, {after[number].name for number in after.keys() - before.keys()})
    return tuple(found)


def _items(layout: Layout, kind: Kind) -> dict[int, Item]:
    record = layout.record(kind)
    fields: tuple[Field, ...] = () if record is None else record.fields
    return {
        field.number: layout.product.item(field.name)
        for field in fields
        if field.kind is FieldKind.ITEM and field.number is not None
    }


def _kept(old: Layout, new: Layout, was: Item, item: Item) -> Iterator[Passage]:
    """The item where a value of it is not the same."""
    narrows = item.history.narrowed and new.product.revision > old.product.revision
    fates = [(code, *become(was, item, code, narrows=narrows)) for code in _codes(was)]
    counts = {fate: sum(one is fate for _, _, one in fates) for fate in Fate}
    worst = next((fate for fate in (Fate.LOST, Fate.NEAREST) if counts[fate]), None)
    if worst is not None:
        code, now = next((code, now) for code, now, fate in fates if fate is worst)
        texts = code_text(was, code), code_text(item, now)
        bench = isinstance(was, Trim)
        yield Passage(
            item.name,
            item.label,
            bench,
            worst,
            len(fates),
            counts[Fate.NEAREST],
            counts[Fate.LOST],
            *texts,
            None,
        )


def _codes(item: Item) -> list[int]:
    last = item.codes - 1
    spread = {at * last // (MOST_CODES - 1) for at in range(MOST_CODES)}
    return [code for code in sorted(spread) if is_in_use(item, code)]


def _dropped(old: Layout, new: Layout, number: int, item: Item) -> Passage:
    """An item that the new layout does not have: something takes its part, or its values are lost."""
    revision = old.product.revision
    parts = [
        one.name
        for one in new.product.items
        if (since := one.history.since_before(revision)) is not None and since.number == number
    ]
    source = ", ".join(parts) or None
    fate = Fate.SAME if parts else Fate.LOST
    since = item.history.since_before(new.product.revision)
    if since is not None and new.product.revision < revision:
        if since.number is not None:
            source, fate = since.by, Fate.SAME
        elif not isinstance(item, Trim):
            source = code_text(item, item.default if since.formerly is None else since.formerly)
    return Passage(item.name, item.label, isinstance(item, Trim), fate, 0, 0, 0, None, None, source)


def _coming(old: Layout, new: Layout, kind: Kind, names: set[str]) -> Iterator[Passage]:
    """The items that units of the old layout do not have, with what they get, other values being the
    factory's."""
    record = old.record(kind)
    values = () if record is None else factory_values(old, record)
    for one in move(old, new, kind, values, 0)[1]:
        if one.item in names:
            item = new.product.item(one.item)
            since = item.history.since_before(old.product.revision)
            source = None
            if since is not None and since.by is not None and one.was is not None:
                ways = (f"{became.way} to {code_text(item, became.code)}" for became in since.became)
                source = f"{since.by}: {', '.join(ways)}"
            elif one.was is not None:
                source = one.was.rpartition(" ")[0]
            fate = Fate.SAME if source is not None else Fate.NEW
            if since is not None and since.formerly is not None:
                source = one.now
            yield Passage(one.item, item.label, isinstance(item, Trim), fate, 0, 0, 0, None, one.now, source)
