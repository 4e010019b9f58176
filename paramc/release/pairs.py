"""Which item of one layout is which of another."""

from __future__ import annotations

from paramc.frozen import dataclass
from paramc.layout.earlier.things import number_of_item
from paramc.layout.layout import Layout
from paramc.model.items import Item


@dataclass(frozen=True, slots=True)
class Pair:
    """An item in both, or in one of the two."""

    was: Item | None
    now: Item | None


def pairs(old: Layout, new: Layout) -> tuple[Pair, ...]:
    """Every item once: those of the new layout in its order, then those that it does not have.

    Items are the same by their names, the names that they say they had, or, between releases, their
    permanent numbers.
    """
    left = {item.name: item for item in old.product.items}
    found: list[Pair] = []
    for item in new.product.items:
        was = next((left[name] for name in (item.name, *item.history.was) if name in left), None)
        was = was or _by_number(old, new, item, left) or _older_name(left, item)
        if was is not None:
            del left[was.name]
        found.append(Pair(was, item))
    return (*found, *(Pair(item, None) for item in left.values()))


def _older_name(left: dict[str, Item], item: Item) -> Item | None:
    """The item that says that it was this one: the old layout is the later revision."""
    return next((other for other in left.values() if item.name in other.history.was), None)


def _by_number(old: Layout, new: Layout, item: Item, left: dict[str, Item]) -> Item | None:
    if old.trial or new.trial:
        return None
    number = number_of_item(new, item.name)
    same = (other for other in left.values() if number_of_item(old, other.name) == number)
    return next((other for other in same if type(other) is type(item)), None)
