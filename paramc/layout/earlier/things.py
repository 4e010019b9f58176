"""Who is who across revisions: everything that a release stored, known for good by its permanent number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from paramc.frozen import dataclass
from paramc.layout.layout import Field, FieldKind, Kind, Layout
from paramc.model.items import Item
from paramc.model.product import Product


@dataclass(frozen=True, slots=True)
class Thing:
    """An item of earlier releases. items: what it was in each that has it, by revision, the oldest first."""

    number: int
    items: tuple[tuple[int, Item], ...]

    @property
    def last(self) -> tuple[int, Item]:
        """The latest release that has it, and what it was there."""
        return self.items[-1]

    @property
    def names(self) -> tuple[str, ...]:
        """Every name that it had."""
        return tuple(dict.fromkeys(item.name for _, item in self.items))


@dataclass(frozen=True, slots=True)
class Earlier:
    """The releases before a revision, the oldest first, and the things in them.

    by_name: every name that an item had, and the thing's number. controls: the number of each control
    with measured ends, by its name. highest: the highest number given.
    """

    layouts: tuple[Layout, ...]
    things: Mapping[int, Thing]
    by_name: Mapping[str, int]
    controls: Mapping[str, int]
    highest: int

    def heir(self, product: Product, number: int) -> Item | None:
        """The item of a product that a thing became: it has one of its names, or says that it had."""
        names = set(self.things[number].names)
        return next((it for it in product.items if names & {it.name, *it.history.was}), None)

    def number_of(self, item: Item) -> int | None:
        """The number of the thing that an item of today is; None of one that is new."""
        names = (name for name in (item.name, *item.history.was) if name in self.by_name)
        return next((self.by_name[name] for name in names), None)


def earlier(before: Sequence[Layout]) -> Earlier:
    """What some releases leave, in any order."""
    layouts = tuple(sorted(before, key=lambda layout: layout.product.revision))
    items: dict[int, list[tuple[int, Item]]] = {}
    controls: dict[str, int] = {}
    for layout in layouts:
        for field in numbered(layout):
            assert field.number is not None
            if field.kind is FieldKind.ITEM:
                item = layout.product.item(field.name)
                items.setdefault(field.number, []).append((layout.product.revision, item))
            else:
                controls[field.name.removesuffix("_low").upper()] = field.number
    things = {number: Thing(number, tuple(was)) for number, was in items.items()}
    return Earlier(
        layouts=layouts,
        things=things,
        by_name={name: thing.number for thing in things.values() for name in thing.names},
        controls=controls,
        highest=max([0, *things, *controls.values()]),
    )


NOTHING_BEFORE: Final = earlier(())


def numbered(layout: Layout) -> tuple[Field, ...]:
    """One field for each item and each pair of measured ends, the pair's low one."""
    return tuple(
        field
        for record in layout.records
        if record.kind is not Kind.STATE  # what is kept per preset stands in presets already
        for field in record.fields
        if field.kind in (FieldKind.ITEM, FieldKind.END_LOW)
    )


def number_of_item(layout: Layout, name: str) -> int:
    """The permanent number of an item that a layout has."""
    number = next(f.number for f in numbered(layout) if f.kind is FieldKind.ITEM and f.name == name)
    assert number is not None
    return number
