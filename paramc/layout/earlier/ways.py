"""Places that are for good: those of a selector's ways and of the board revisions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import count

from paramc.check.history_rules import NAME_AGAIN
from paramc.check.scale_rules import TOO_MANY_CODES
from paramc.check.words import called, capital, listed
from paramc.layout.earlier.rules import WAS_UNKNOWN, WAY_GONE, WAY_MOVED
from paramc.layout.earlier.things import Earlier
from paramc.model.history import Became
from paramc.model.items import Item, Selector
from paramc.model.product import Preset, Product
from paramc.text.diagnostic import Diagnostic

HIGHEST_PLACE = 254


def with_places(product: Product, past: Earlier, found: list[Diagnostic]) -> Product:
    """The product with every way in the place that releases gave it, and new ones behind all that were
    ever given; codes of ways follow. What stands in the way is told, and leaves the item as it is."""
    product = _boards(product, past)
    moved: dict[str, Mapping[int, int]] = {}
    items: list[Item] = []
    for item in (_with_deciders(item, past) for item in product.items):
        places = _places(item, past, found) if isinstance(item, Selector) else None
        if isinstance(item, Selector) and places is not None and places != item.places:
            moved[item.name] = dict(zip(item.places, places, strict=True))
            item = _moved(item, places, moved[item.name])
        items.append(item)
    names = [item.name for item in product.per_preset]
    presets = tuple(_preset(preset, names, moved) for preset in product.presets)
    return replace(product, items=tuple(items), presets=presets)


def _with_deciders(item: Item, past: Earlier) -> Item:
    """An item with the numbers of the selectors that decide what it was formerly."""
    if all(since.by is None for since in item.history.since):
        return item
    since = tuple(
        one if one.by is None else replace(one, number=past.by_name.get(one.by)) for one in item.history.since
    )
    return replace(item, history=replace(item.history, since=since))


def _moved(item: Selector, places: tuple[int, ...], to: Mapping[int, int]) -> Selector:
    since = tuple(
        replace(
            one,
            formerly=None if one.formerly is None else to[one.formerly],
            became=tuple(Became(became.way, to[became.code]) for became in one.became),
        )
        for one in item.history.since
    )
    history = replace(item.history, since=since)
    return replace(item, places=places, default=to[item.default], history=history)


def _preset(preset: Preset, names: Sequence[str], moved: Mapping[str, Mapping[int, int]]) -> Preset:
    codes = (
        moved[name][code] if name in moved else code
        for name, code in zip(names, preset.codes, strict=True)
    )
    return replace(preset, codes=tuple(codes))


def _places(item: Selector, past: Earlier, found: list[Diagnostic]) -> tuple[int, ...] | None:
    """The place of each way; None beside a stop."""
    given = _given(item, past)
    if not given:
        return item.places
    owner = capital(called("selector", item.label))
    told: list[Diagnostic] = []
    fresh = max(given.values()) + 1
    places: list[int] = []
    takers: dict[int, str] = {}
    for way in item.ways:
        for name in way.was:
            if name not in given:
                sentence = f"{owner} has a way {way.name} that was {name}, and no release has such a way."
                told.append(Diagnostic(WAS_UNKNOWN, sentence, item.place))
        mine = [given[name] for name in (way.name, *way.was) if name in given]
        place = mine[0] if mine else fresh
        fresh += not mine
        if place in takers:
            sentence = f"{owner} has two ways that were one, {takers[place]} and {way.name}."
            told.append(Diagnostic(NAME_AGAIN, sentence, item.place, try_="Give one of them a new name."))
        takers[place] = way.name
        places.append(place)
    told += _gone(item, given, owner)
    if not told and places != sorted(places):
        order = [way.name for _, way in sorted(zip(places, item.ways, strict=True), key=lambda pair: pair[0])]
        sentence = f"{owner} has its ways in another order than the releases."
        try_ = f"the order {listed(order)}"
        told.append(Diagnostic(WAY_MOVED, sentence, item.place, try_=try_))
    if not told and places[-1] > HIGHEST_PLACE:
        sentence = f"{owner} has had {places[-1] + 1} ways, and {HIGHEST_PLACE + 1} are the most."
        told.append(Diagnostic(TOO_MANY_CODES, sentence, item.place))
    found.extend(replace(mistake, subject=item.name) for mistake in told)
    return None if told else tuple(places)


def _given(item: Selector, past: Earlier) -> dict[str, int]:
    """Every name that a way had in a release, and its place. Of two places the later release's counts."""
    number = past.number_of(item)
    given: dict[str, int] = {}
    for _, was in () if number is None else past.things[number].items:
        if isinstance(was, Selector):
            given.update((way.name, place) for place, way in zip(was.places, was.ways, strict=True))
    return given


def _gone(item: Selector, given: Mapping[str, int], owner: str) -> list[Diagnostic]:
    """A stop for each place that no way of today took over."""
    kept = {name for way in item.ways for name in (way.name, *way.was)}
    by_place: dict[int, list[str]] = {}
    for name, place in given.items():
        by_place.setdefault(place, []).append(name)
    told = []
    for names in by_place.values():
        if not kept & set(names):
            name, heir = names[-1], item.way(item.default).name
            sentence = f"{owner} has no way {name} any more, and none says that it took its part."
            try_ = f"way {heir} was {name}, or another way that is to play in its place"
            told.append(Diagnostic(WAY_GONE, sentence, item.place, try_=try_))
    return told


def _boards(product: Product, past: Earlier) -> Product:
    """The product with each board revision in the place that releases gave it, new ones behind all given."""
    given: dict[str, int] = {}
    for layout in past.layouts:
        given |= {name: place for place, name in layout.product.boards.items()}
    fresh = count(max(given.values(), default=-1) + 1)
    places = tuple(given[name] if name in given else next(fresh) for name in product.hardware)
    return replace(product, hardware_places=places)
