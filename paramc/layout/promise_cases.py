"""The cases in which a unit has to keep a promise: which codes its items and trims can have, and where."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from itertools import product as every
from math import prod
from typing import Final, assert_never

from paramc.frozen import dataclass
from paramc.layout.layout import KnobTable
from paramc.layout.noon import noon_codes
from paramc.model.expression import names
from paramc.model.items import Item, Selector, Trim, is_in_use
from paramc.model.product import Product, Wakes
from paramc.model.promises import OfExpression, OfItem, Promise, PromiseScope

MOST_CASES: Final = 100_000
"""Cases that one promise is worked out for at most: a few seconds."""


@dataclass(frozen=True, slots=True)
class Case:
    """What the items of a subject are at, in their order. where: for people: in preset 2 "Slap"."""

    where: str
    codes: tuple[int, ...]


class TooMany(Exception):
    """There are more cases than MOST_CASES, or more that need exact numbers than may be worked out."""


def subject_items(product: Product, promise: Promise) -> tuple[Item, ...]:
    """The items that a promise speaks of, in reading order."""
    match promise.subject:
        case OfItem(name):
            named = frozenset({name})
        case OfExpression(expression):
            named = names(expression)
        case other:
            assert_never(other)
    return tuple(item for item in product.items if item.name in named)


def cases_of(product: Product, knobs: Sequence[KnobTable], promise: Promise) -> Iterator[Case]:
    """Every case, in the order of presets and codes. TooMany before the first where they are too many."""
    items = subject_items(product, promise)
    varied = set(promise.vary)
    places = [
        (
            where,
            [
                corners(item) if isinstance(item, Trim) and item.name in varied else choice
                for item, choice in zip(items, choices, strict=True)
            ],
        )
        for where, choices in _places(product, knobs, promise.scope, items)
    ]
    if sum(prod(map(len, choices)) for _, choices in places) > MOST_CASES:
        raise TooMany
    for where, choices in places:
        yield from (Case(where, codes) for codes in every(*choices))


def corners(trim: Trim) -> Sequence[int]:
    """The codes of a trim at both ends of what is plausible, or of its range, and at its nominal."""
    low, high = trim.plausible or (trim.scale.low, trim.scale.high)
    return sorted({trim.scale.nearest_code(low), trim.nominal, trim.scale.nearest_code(high)})


def _places(
    product: Product, knobs: Sequence[KnobTable], scope: PromiseScope, items: tuple[Item, ...]
) -> Iterator[tuple[str, list[Sequence[int]]]]:
    """Where a promise is looked at, and the codes that each item can have there; trims are nominal."""
    match scope:
        case PromiseScope.AT_NOON:
            yield "with every knob at noon", [noon_codes(product, knobs, item) for item in items]
        case PromiseScope.IN_EVERY_PRESET:
            for number in range(1, product.holds.preset_slots + 1):
                preset, codes = _slot(product, number)
                yield f"in {preset}", [(codes[item.name],) for item in items]
        case PromiseScope.AT_POWER_UP:
            preset, codes = _slot(product, product.first_preset)
            yield f"at power up with {preset}", [(codes[item.name],) for item in items]
            if _wakes_as_it_was(product):
                yield "at power up as it was", [_every_code(item) for item in items]
        case PromiseScope.AT_EVERY_POSITION:
            yield "at a position", [_every_code(item) for item in items]
        case other:
            assert_never(other)


def _every_code(item: Item) -> Sequence[int]:
    if isinstance(item, Trim):
        return (item.nominal,)
    if item.codes > MOST_CASES:
        raise TooMany
    return [code for code in range(item.codes) if is_in_use(item, code)]


def _slot(product: Product, number: int) -> tuple[str, Mapping[str, int]]:
    """A slot by its name, and the code of each item in it; a slot without a preset is at the defaults."""
    codes = {item.name: item.default for item in product.items}
    preset = next((preset for preset in product.presets if preset.number == number), None)
    if preset is None:
        return f"preset {number}, which is empty", codes
    codes.update((item.name, code) for item, code in zip(product.per_preset, preset.codes, strict=True))
    return f"preset {number} {json.dumps(preset.label, ensure_ascii=False)}", codes


def _wakes_as_it_was(product: Product) -> bool:
    if product.wakes_from is None:
        return product.wakes is Wakes.AS_IT_WAS
    chooser = product.item(product.wakes_from)
    return isinstance(chooser, Selector) and any(way.name == "last" for way in chooser.ways)
