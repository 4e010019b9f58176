"""What the history in a product read from a file must keep, as sound_product has it for the rest."""

from __future__ import annotations

import re
from collections.abc import Iterator

from paramc.model.history import Since
from paramc.model.items import Flag, Item, Selector, is_in_use, kind_word
from paramc.model.product import Product

HIGHEST_REVISION = 254
_NAME = re.compile(r"[a-z_][a-z0-9_]{0,39}")


def history_faults(product: Product) -> Iterator[str]:
    """Whole sentences; the first is enough. Items themselves have been found sound."""
    if not 1 <= product.reads_from <= product.revision:
        yield "The revision that the firmware reads from is not one up to the product's own."
    names = [retired.name for retired in product.retired]
    if len(set(names)) != len(names) or not all(_NAME.fullmatch(name) for name in names):
        yield "A retired name is there twice, or is not a name."
    if not all(1 <= retired.since <= product.revision for retired in product.retired):
        yield "A name was retired in a revision that has not come yet."
    taken = [item.name for item in product.items] + names
    taken += [name for item in product.items for name in item.history.was]
    if len(set(taken)) != len(taken):
        yield "A name of an earlier revision belongs to two items, or to one that is retired too."
    for item in product.items:
        yield from _item(product, item)


def _item(product: Product, item: Item) -> Iterator[str]:
    what = f"{kind_word(item)} {item.name!a}"
    if not all(_NAME.fullmatch(name) for name in item.history.was):
        yield f"An earlier name of {what} is not a name."
    revisions = [since.revision for since in item.history.since]
    if len(set(revisions)) != len(revisions) or not all(1 <= one <= product.revision for one in revisions):
        yield f"The {what} came twice in one revision, or in one that has not come yet."
    for since in item.history.since:
        yield from _since(item, since, what)
    if isinstance(item, Selector):
        ways = [way.name for way in item.ways]
        ways += [name for way in item.ways for name in way.was]
        if len(set(ways)) != len(ways) or not all(_NAME.fullmatch(name) for name in ways):
            yield f"A way of {what} has an earlier name twice, or one that is no name."


def _since(item: Item, since: Since, what: str) -> Iterator[str]:
    codes = [became.code for became in since.became]
    if since.formerly is not None:
        codes.append(since.formerly)
    if not all(code >= 0 and is_in_use(item, code) for code in codes):
        yield f"What {what} was formerly is not one of its codes."
    if (since.by is None) == bool(since.became) or (since.by is not None and since.formerly is not None):
        yield f"What {what} was formerly is said in two ways, or in half of one."
    if since.by is not None and (not _NAME.fullmatch(since.by) or not isinstance(item, Selector | Flag)):
        yield f"What {what} was formerly cannot hang on that selector."
    if since.number is not None and (since.by is None or since.number < 1):
        yield f"What {what} was formerly hangs on a number that is none."
    ways = [became.way for became in since.became]
    if len(set(ways)) != len(ways) or not all(_NAME.fullmatch(way) for way in ways):
        yield f"What {what} was formerly is said twice of a way, or of one that has no name."
