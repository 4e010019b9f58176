"""What a file says of earlier revisions: since, was, narrowed, retired. What the releases say of the same
is asked later, where they are at hand (layout/earlier)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from paramc.check import bounds
from paramc.check.history_rules import FORMERLY_BY, HISTORY_AHEAD, NAME_AGAIN
from paramc.check.quantities import Asked
from paramc.check.statements import said_twice
from paramc.check.values import item_code
from paramc.check.words import called, capital, short
from paramc.model.history import Became, History, Retired, Since
from paramc.model.items import Flag, Item, Selector, kind_word
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark
from paramc.text.source import Span

FIRST_LATER_REVISION, HIGHEST_REVISION = 2, 254


def read_history(
    lines: Iterable[nodes.Node], item: Item, turn: Fraction | None, found: list[Diagnostic]
) -> History:
    """The history of an item, without what is wrong in it."""
    owner = called(kind_word(item), item.label)
    written = list(lines)
    since = [line for line in written if isinstance(line, nodes.Since)]
    return History(
        since=tuple(_since(since, item, owner, turn, found)),
        was=tuple(line.name.text for line in written if isinstance(line, nodes.Was)),
        narrowed=any(isinstance(line, nodes.Narrowed) for line in written),
    )


def earlier_ways(way: nodes.Way) -> tuple[str, ...]:
    """The names of earlier revisions whose part a way took."""
    return () if way.was is None else tuple(name.text for name in way.was.names)


def read_retired(blocks: Iterable[nodes.Retired], found: list[Diagnostic]) -> tuple[Retired, ...]:
    """The retired names in reading order, the first of each."""
    first: dict[str, nodes.Retired] = {}
    retired = []
    for block in blocks:
        name = block.name.text
        before = first.setdefault(name, block)
        if before is not block:
            found.append(said_twice(f"The name {short(name)} is retired twice.", block, before))
            continue
        since = _revision(block.since, f"since of the retired name {short(name)}", found)
        if since is not None:
            retired.append(Retired(name, since, block.name.span))
    return tuple(retired)


def check_history(
    blocks: Sequence[nodes.Item],
    items: Sequence[Item],
    retired: Sequence[Retired],
    revision: int,
    found: list[Diagnostic],
) -> None:
    """What the statements of a file have to keep among themselves. blocks: as written, for the places."""
    for item in items:
        owner = capital(called(kind_word(item), item.label))
        for since in item.history.since:
            _ahead(f"{owner} came", since.revision, revision, since.place, found)
    for gone in retired:
        _ahead(f"The name {short(gone.name)} was retired", gone.since, revision, gone.place, found)
    _names(blocks, retired, found)
    _retired_deciders(items, {gone.name for gone in retired}, found)


def _revision(node: nodes.Integer, what: str, found: list[Diagnostic]) -> int | None:
    return bounds.whole(node, what, FIRST_LATER_REVISION, HIGHEST_REVISION, found)


def _ahead(what: str, since: int, revision: int, place: Span | None, found: list[Diagnostic]) -> None:
    if since > revision:
        sentence = f"{what} in revision {since}, and the file is of revision {revision}."
        found.append(Diagnostic(HISTORY_AHEAD, sentence, place, try_=f"since {revision}"))


# ---- since


def _since(
    lines: Sequence[nodes.Since], item: Item, owner: str, turn: Fraction | None, found: list[Diagnostic]
) -> Iterable[Since]:
    first: dict[int, nodes.Since] = {}
    for line in lines:
        revision = _revision(line.revision, f"since of {owner}", found)
        if revision is None:
            continue
        before = first.setdefault(revision, line)
        if before is not line:
            sentence = f"{capital(owner)} says twice what it was before revision {revision}."
            found.append(said_twice(sentence, line, before))
            continue
        match line.formerly:
            case None:
                yield Since(revision, place=line.span)
            case nodes.FormerlyBy():
                became = _became(line.formerly, item, owner, found)
                if became:
                    yield Since(revision, by=line.formerly.selector.text, became=became, place=line.span)
            case value:
                asked = Asked(f"former value of {owner}", f"since {revision} formerly")
                stored = item_code(value, item, turn, asked, found)
                if stored is not None:
                    yield Since(revision, stored.code, place=line.span)


def _became(
    node: nodes.FormerlyBy, item: Item, owner: str, found: list[Diagnostic]
) -> tuple[Became, ...]:
    if not isinstance(item, Selector | Flag):
        sentence = f"{capital(owner)} is formerly by a selector, which only a selector or a flag can be."
        try_ = "Say one value: since N formerly VALUE."
        found.append(Diagnostic(FORMERLY_BY, sentence, node.selector.span, try_=try_))
        return ()
    if not node.pairs:
        sentence = f"{capital(owner)} does not say what the ways of {short(node.selector.text)} became."
        found.append(Diagnostic(FORMERLY_BY, sentence, node.selector.span))
        return ()
    first: dict[str, nodes.Became] = {}
    became = []
    for pair in node.pairs:
        old = pair.old.text
        before = first.setdefault(old, pair)
        if before is not pair:
            found.append(said_twice(f"{capital(owner)} says twice what {short(old)} became.", pair, before))
            continue
        asked = Asked(f"successor of {short(old)} in {owner}", f"{short(old)} to")
        stored = item_code(pair.new, item, None, asked, found)
        if stored is not None:
            became.append(Became(old, stored.code))
    return tuple(became)


# ---- names


def _names(
    blocks: Sequence[nodes.Item], retired: Sequence[Retired], found: list[Diagnostic]
) -> None:
    """One name space of what is, what was and what is retired; and one of the ways of each selector."""
    space = _Space(found)
    for block in blocks:
        space.take(block.name.text, called(block.kind.text, block.label.value), block.name.span)
    for gone in retired:
        space.again(gone.name, f"The name {short(gone.name)} is retired", gone.place)
    for block in blocks:
        owner = capital(called(block.kind.text, block.label.value))
        for line in block.lines:
            if isinstance(line, nodes.Was):
                space.again(line.name.text, f"{owner} was {short(line.name.text)}", line.name.span)
    for block in blocks:
        ways = [line for line in block.lines if isinstance(line, nodes.Way)]
        of_ways = _Space(found)
        for way in ways:
            of_ways.take(way.name.text, called("way", way.label.value), way.name.span)
        for way in ways:
            owner = capital(called("way", way.label.value))
            for name in () if way.was is None else way.was.names:
                of_ways.again(name.text, f"{owner} was {short(name.text)}", name.span)


class _Space:
    """Names, each with what has it."""

    def __init__(self, found: list[Diagnostic]) -> None:
        self._found = found
        self._taken: dict[str, tuple[str, Span | None]] = {}

    def take(self, name: str, owner: str, place: Span | None) -> None:
        """A name of today; that each is given once is told elsewhere."""
        self._taken.setdefault(name, (owner, place))

    def again(self, name: str, what: str, place: Span | None) -> None:
        """A name of before: a stop where something else has it."""
        other = self._taken.get(name)
        if other is None:
            self._taken[name] = (f"{what[:1].lower()}{what[1:]}", place)
            return
        owner, its_place = other
        has = owner if " is retired" in owner or " was " in owner else f"{owner} has that name"
        sentence = f"{what}, and {has}."
        also = () if its_place is None else (Mark(its_place, "the other one"),)
        self._found.append(Diagnostic(NAME_AGAIN, sentence, place, also))


def _retired_deciders(items: Iterable[Item], retired: set[str], found: list[Diagnostic]) -> None:
    for item in items:
        for since in item.history.since:
            if since.by is not None and since.by not in retired:
                owner = capital(called(kind_word(item), item.label))
                sentence = f"{owner} is formerly by {short(since.by)}, which the file does not retire."
                try_ = f"retired {short(since.by)} since {since.revision}"
                found.append(Diagnostic(FORMERLY_BY, sentence, since.place, try_=try_))
