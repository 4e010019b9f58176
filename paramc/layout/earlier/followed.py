"""What a file says of the items of earlier releases, held to what those releases have."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import assert_never

from paramc.check.history_rules import FORMERLY_BY, NAME_AGAIN
from paramc.check.nearest import Nearest
from paramc.check.words import called, capital, listed
from paramc.layout.earlier.rules import (
    BENCH_TOO_LATE,
    FIELD_GONE,
    FORMERLY_UNSAID,
    KEPT_CHANGED,
    MEANING_CHANGED,
    NARROWED_UNSAID,
    RETIRED_WRONG,
    SETUP_TOO_LATE,
    SINCE_UNSAID,
    SINCE_WRONG,
    WAS_UNKNOWN,
)
from paramc.layout.earlier.things import Earlier, Thing
from paramc.layout.layout import Kind
from paramc.layout.texts import value_text
from paramc.model.carry import Fit, carried
from paramc.model.history import Since
from paramc.model.items import Flag, Item, Param, Scaled, Selector, Trim, is_off, kind_word
from paramc.model.product import IfLost, Product
from paramc.text.diagnostic import Diagnostic


def followed(product: Product, past: Earlier) -> Iterator[Diagnostic]:
    """Every mistake, in the order of the items of today, then of those that are gone."""
    owners: dict[int, Item] = {}
    for item in product.items:
        for found in _of_item(product, item, past, owners):
            yield replace(found, subject=item.name)
    yield from _gone(product, past, owners)


def _of_item(product: Product, item: Item, past: Earlier, owners: dict[int, Item]) -> Iterator[Diagnostic]:
    unknown = tuple(_unknown_names(item, past))
    yield from unknown
    number = past.number_of(item)
    if unknown and number is None:
        return  # whether it is new or renamed is not known
    thing = None if number is None else past.things[number]
    if thing is not None:
        twice = _taken_twice(item, thing, past, owners)
        if twice is not None:
            yield twice
            return
        owners[thing.number] = item
        changed = _changed(item, thing)
        if changed is not None:
            yield changed
            return
        yield from _narrowed(item, thing)
    yield from _since(product, item, thing, past)


# ---- names


def _unknown_names(item: Item, past: Earlier) -> Iterator[Diagnostic]:
    for name in item.history.was:
        if name not in past.by_name:
            sentence = f"{_capital(item)} was {name}, and no release has an item of that name."
            near = Nearest(past.by_name).to(name)
            try_ = f"was {near}" if near and near != item.name else "Leave this line out."
            yield Diagnostic(WAS_UNKNOWN, sentence, item.place, try_=try_)


def _taken_twice(
    item: Item, thing: Thing, past: Earlier, owners: Mapping[int, Item]
) -> Diagnostic | None:
    """Whether an item takes the name of a thing that is gone, of two things, or of one that is another's."""
    revision, last = thing.last
    numbers = {past.by_name[name] for name in (item.name, *item.history.was) if name in past.by_name}
    if len(numbers) > 1:
        names = " and ".join(past.things[number].last[1].name for number in sorted(numbers))
        sentence = f"{_capital(item)} takes over two items of earlier releases, {names}."
        because = ("The values that a unit has for both cannot become one.",)
        return Diagnostic(NAME_AGAIN, sentence, item.place, because=because, try_="Retire one of them.")
    if revision != past.layouts[-1].product.revision:
        sentence = (
            f"{_capital(item)} has a name that belonged to {_called(last)} up to revision {revision} and is"
            " not given again."
        )
        return Diagnostic(NAME_AGAIN, sentence, item.place, try_="Give it another name.")
    if last.name not in (item.name, *item.history.was):
        sentence = (
            f"{_capital(item)} has an earlier name of what revision {revision} calls {last.name}, and does"
            " not say that it was that."
        )
        return Diagnostic(NAME_AGAIN, sentence, item.place, try_=f"was {last.name}")
    if thing.number in owners:
        sentence = f"{_capital(item)} and {_called(owners[thing.number])} were both {last.name}."
        return Diagnostic(NAME_AGAIN, sentence, item.place)
    return None


def _gone(product: Product, past: Earlier, owners: Mapping[int, Item]) -> Iterator[Diagnostic]:
    near = Nearest(past.by_name)
    retired = {gone.name for gone in product.retired}
    # A name that was mistyped where it is retired is one mistake.
    meant = retired | {near.to(name) for name in retired if name not in past.by_name}
    for thing in past.things.values():
        revision, last = thing.last
        if thing.number in owners or meant & set(thing.names):
            continue
        if past.heir(product, thing.number) is not None:
            continue  # what is wrong with its heir is told already
        since = _first_without(thing, past) or product.revision
        sentence = f"{_capital(last)} is in revision {revision} and not in the file, and nothing says why."
        try_ = f"retired {last.name} since {since}; or, in the item that it is now, was {last.name}"
        yield Diagnostic(FIELD_GONE, sentence, product.place, try_=try_, subject=last.name)
    for gone in product.retired:
        number = past.by_name.get(gone.name)
        if number is None:
            sentence = f"The name {gone.name} is retired, and no release has an item of that name."
            name = near.to(gone.name)
            try_ = f"retired {name} since {gone.since}" if name else "Leave this line out."
            yield Diagnostic(RETIRED_WRONG, sentence, gone.place, try_=try_)
            continue
        thing = past.things[number]
        lowest, highest = thing.last[0] + 1, _first_without(thing, past) or product.revision
        if not lowest <= gone.since <= highest:
            has = f"Revision {thing.last[0]} has the item {gone.name}"
            lacks = f", and revision {highest} does not" if highest < product.revision else ""
            sentence = f"{has}{lacks}, so it is not retired since {gone.since}."
            try_ = f"retired {gone.name} since {highest}"
            yield Diagnostic(RETIRED_WRONG, sentence, gone.place, try_=try_)


def _first_without(thing: Thing, past: Earlier) -> int | None:
    """The first release behind the last that has a thing; None where there is none yet."""
    revisions = (layout.product.revision for layout in past.layouts)
    return next((revision for revision in revisions if revision > thing.last[0]), None)


# ---- values


def _changed(item: Item, thing: Thing) -> Diagnostic | None:
    """What keeps the old values of an item from meaning anything in it."""
    revision, was = thing.last
    if type(was) is not type(item):
        sentence = f"{_capital(item)} was {_called(was)} in revision {revision}."
        return Diagnostic(MEANING_CHANGED, sentence, item.place, try_=_anew(was))
    if isinstance(item, Param | Trim) and isinstance(was, Param | Trim):
        old, new = was.scale.unit.dimension, item.scale.unit.dimension
        if old is not new:
            sentence = (
                f"{_capital(item)} measured {old.value} in revision {revision} and measures {new.value} now."
            )
            return Diagnostic(MEANING_CHANGED, sentence, item.place, try_=_anew(was))
    if _once(was) != _once(item):
        kept = {True: "once", False: "with every preset"}
        sentence = (
            f"{_capital(item)} was kept {kept[_once(was)]} in revision {revision} and is kept"
            f" {kept[_once(item)]} now."
        )
        return Diagnostic(KEPT_CHANGED, sentence, item.place, try_=_anew(was))
    return None


def _anew(was: Item) -> str:
    return f"Retire {was.name}, and give the new item another name."


def _narrowed(item: Item, thing: Thing) -> Iterator[Diagnostic]:
    if item.history.narrowed or not isinstance(item, Param | Trim):
        return
    facts = [
        f"Revision {revision} has {_ends(was)}, and now it is {_ends(item)}."
        for revision, was in thing.items
        if isinstance(was, Param | Trim) and _does_not_hold(item, was)
    ]
    if facts:
        sentence = f"The range of {_called(item)} cannot hold all values that old units may have stored."
        yield Diagnostic(
            NARROWED_UNSAID, sentence, item.place, because=tuple(facts), try_="narrowed to nearest"
        )


def _does_not_hold(item: Scaled, was: Scaled) -> bool:
    """Whether a value of an older range is none of today's. Codes go one way, so the outermost answer."""
    outermost = {0, 1, was.codes - 1} if was.scale.off_at_stop else {0, was.codes - 1}
    fits = (carried(was, item, code) for code in outermost)
    return any(fit is not None and fit.fit is Fit.LOST for fit in fits)


def _ends(item: Scaled) -> str:
    first = 1 if is_off(item, 0) else 0
    off = "off and " if first else ""
    return f"{off}{value_text(item, first)} to {value_text(item, item.codes - 1)}"


# ---- since


def _since(product: Product, item: Item, thing: Thing | None, past: Earlier) -> Iterator[Diagnostic]:
    having = () if thing is None else tuple(revision for revision, _ in thing.items)
    for since in item.history.since:
        first = next((revision for revision in having if revision < since.revision), None)
        if first is not None:
            sentence = f"{_capital(item)} came in revision {since.revision}, and revision {first} has it."
            try_ = "Leave this line out; if it was renamed, say was OLD."
            yield Diagnostic(SINCE_WRONG, sentence, since.place, try_=try_)
            return
    lacking = [layout.product.revision for layout in past.layouts if layout.product.revision not in having]
    unsaid = [revision for revision in lacking if item.history.since_before(revision) is None]
    if unsaid:
        came = next((revision for revision in having), product.revision)
        sentence = (
            f"{_capital(item)} is not in {_revisions(unsaid)} and does not say since when it is there and"
            " what older units sound like."
        )
        formerly = "" if isinstance(item, Trim) else " formerly VALUE"
        renamed = "" if thing is not None else "; or, if it was only renamed, was OLD"
        try_ = f"since {came}{formerly}{renamed}"
        yield Diagnostic(SINCE_UNSAID, sentence, item.place, try_=try_)
        return
    answers: dict[Since, list[int]] = {}
    for revision in lacking:
        answer = item.history.since_before(revision)
        assert answer is not None
        answers.setdefault(answer, []).append(revision)
    for answer, revisions in answers.items():
        yield from _formerly(item, answer, revisions, past)
        yield from _too_late(product, item, answer, revisions, past)


def _too_late(
    product: Product, item: Item, since: Since, revisions: Sequence[int], past: Earlier
) -> Iterator[Diagnostic]:
    """Whether older units have no record of the kind that an item stands in."""
    kind = Kind.BENCH if isinstance(item, Trim) else Kind.SETUP if _once(item) else Kind.PRESETS
    without = [
        layout.product.revision
        for layout in past.layouts
        if layout.product.revision in revisions and layout.record(kind) is None
    ]
    if not without:
        return
    units = f"Units of {_revisions(without)}"
    if kind is Kind.SETUP and since.formerly not in (None, item.default):
        assert since.formerly is not None
        was, now = _code_text(item, since.formerly), _code_text(item, item.default)
        sentence = f"{units} keep no setup, so {_called(item)} cannot be {was} there and {now} in new ones."
        yield Diagnostic(SETUP_TOO_LATE, sentence, since.place, try_=f"default {was}")
    if kind is Kind.BENCH and product.holds.if_lost is not IfLost.PLAY:
        does = {IfLost.MUTE: "mutes", IfLost.BYPASS: "bypasses"}[product.holds.if_lost]
        sentence = (
            f"{units} have no trims, so that this firmware {does} them until {_called(item)} is measured."
        )
        yield Diagnostic(BENCH_TOO_LATE, sentence, item.place, try_="bench 2 copies if lost play")


def _code_text(item: Item, code: int) -> str:
    match item:
        case Param() | Trim():
            return "off" if is_off(item, code) else value_text(item, code)
        case Selector():
            return item.way(code).name
        case Flag():
            return "on" if code else "off"
        case other:
            assert_never(other)


def _formerly(item: Item, since: Since, revisions: Sequence[int], past: Earlier) -> Iterator[Diagnostic]:
    if since.by is not None:
        yield from _decided(item, since, since.by, revisions, past)
    elif since.formerly is None and not isinstance(item, Trim):
        sentence = (
            f"{_capital(item)} does not say what units saved before revision {since.revision} sound like, so"
            " they take its default."
        )
        try_ = f"since {since.revision} formerly VALUE"
        yield Diagnostic(FORMERLY_UNSAID, sentence, since.place, try_=try_)


def _decided(
    item: Item, since: Since, by: str, revisions: Sequence[int], past: Earlier
) -> Iterator[Diagnostic]:
    """Whether the selector that decides is in each of some releases, with an answer for each of its ways."""
    number = past.by_name.get(by)
    was = {} if number is None else dict(past.things[number].items)
    told = {became.way for became in since.became}
    unknown = set(told)
    for revision in revisions:
        old = was.get(revision)
        if not isinstance(old, Selector):
            has = "has no item of that name" if old is None else f"has {_called(old)} there, which is none"
            sentence = f"{_capital(item)} is formerly by the selector {by}, and revision {revision} {has}."
            try_ = f"For that revision a line of its own: since {revision + 1} formerly VALUE."
            yield Diagnostic(FORMERLY_BY, sentence, since.place, try_=try_)
            return
        if _once(old) != _once(item):
            kept = {True: "once", False: "with every preset"}
            sentence = (
                f"{_capital(item)} is kept {kept[_once(item)]}, and the selector {by}, which decides what it"
                f" was, is kept {kept[_once(old)]}."
            )
            yield Diagnostic(FORMERLY_BY, sentence, since.place, try_="Say one value: formerly VALUE.")
            return
        names = [way.name for way in old.ways]
        unknown -= set(names)
        missing = [name for name in names if name not in told]
        if missing:
            sentence = (
                f"{_capital(item)} does not say what {listed(missing)} of the selector {by} became, which"
                f" revision {revision} has."
            )
            yield Diagnostic(FORMERLY_BY, sentence, since.place, try_=f"{missing[0]} to ...")
            return
    if unknown and revisions:
        ways = listed(sorted(unknown))
        sentence = f"{_capital(item)} speaks of {ways}, and the selector {by} has no such way."
        yield Diagnostic(FORMERLY_BY, sentence, since.place)


# ---- words


def _once(item: Item) -> bool:
    return not isinstance(item, Trim) and item.kept_once


def _called(item: Item) -> str:
    return called(kind_word(item), item.label)


def _capital(item: Item) -> str:
    return capital(_called(item))


def _revisions(numbers: Sequence[int]) -> str:
    word = "revision" if len(numbers) == 1 else "revisions"
    return f"{word} {listed(str(number) for number in numbers)}"
