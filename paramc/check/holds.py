"""The holds block: how many places each kind of record has, and what stands in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from paramc.check import bounds
from paramc.check.holds_rules import PLAY_WITH_SAFE_TRIM, TOO_MANY_PLACES
from paramc.check.statement_rules import UNSAID
from paramc.check.statements import Statements, placed, read_statements, said_twice
from paramc.check.words import called, keyword
from paramc.frozen import dataclass
from paramc.model.items import Item, Trim
from paramc.model.product import Holds, IfLost
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

PARTS: Mapping[str, frozenset[type[nodes.Node]]] = {
    "identity": frozenset({nodes.Copies, nodes.Serial}),
    "bench": frozenset({nodes.Copies, nodes.Growth, nodes.IfLost}),
    "setup": frozenset({nodes.Copies, nodes.Growth, nodes.Saves}),
    "presets": frozenset({nodes.Slots, nodes.Spare, nodes.Growth, nodes.Names, nodes.Saves}),
    "state": frozenset({nodes.Copies, nodes.Growth, nodes.Saves}),
}
"""Which part of a store goes with which kind of record."""

_WHERE: Mapping[type[nodes.Node], tuple[str, ...]] = {
    part: tuple(kind for kind in PARTS if part in PARTS[kind])
    for part in frozenset().union(*PARTS.values())
}

_NEEDED = {
    "identity": "identity 2 copies",
    "presets": "presets 4 slots spare 1",
    "state": "state 4 copies",
}

# A mirror is whole with one copy; a ring writes the new record before it retires the old one.
_LEAST_COPIES = {"identity": 1, "bench": 1, "setup": 2, "state": 2}
_GROWTH = {"bench": 1, "setup": 1, "presets": 2, "state": 1}

_FEWEST_CHOSEN = 2
"""Copies of a kind that says none: the layout may choose more, never fewer."""

_FEWEST_SPARE = 1

MOST_PLACES = 255
LONGEST_SERIAL = 32
LONGEST_PRESET_NAME = 64
MOST_GROWTH = 255
MOST_SAVES = 86_400


@dataclass(frozen=True, slots=True)
class Store:
    """The numbers of one kind of record, defaults filled in. chosen: copies, or spare, were not said."""

    copies: int = 0
    serial: int = 0
    growth: int = 0
    saves: int = 0
    slots: int = 0
    spare: int = 0
    names: int = 0
    if_lost: IfLost = IfLost.MUTE
    chosen: bool = False


NONE = Store()


def read_holds(
    block: nodes.Holds, keeps_once: bool, measures: bool, found: list[Diagnostic]
) -> Holds | None:
    """What the memory holds; None where something without a default is missing or wrong.

    keeps_once: whether anything is kept once, so that setup exists unasked. measures: whether
    there are trims or measured ends, likewise for bench. Copies and spare that are left out are the
    fewest there may be, and their kind is among the chosen. What else is left out is: growth 1 for
    bench, setup and state, 2 for presets; if lost mute. Saves of 0 mean that none were said, names
    of 0 and a serial of 0 that there are none.
    """
    place = keyword(block)
    before = len(found)
    said: dict[str, nodes.Store] = {}
    for node in block.stores:
        first = said.setdefault(node.kind.text, node)
        if first is not node:
            found.append(said_twice(f"Holds says {node.kind.text} twice.", node.kind, first.kind))
    for kind, try_ in _NEEDED.items():
        if kind not in said:
            found.append(Diagnostic(UNSAID, f"Holds does not say {kind}.", place, try_=try_))
    stores = {kind: _store(node, found) for kind, node in said.items()}
    if len(found) > before:
        return None
    bench = stores.get("bench", _default("bench") if measures else NONE)
    setup = stores.get("setup", _default("setup") if keeps_once else NONE)
    identity, presets, state = (stores[kind] for kind in _NEEDED)
    in_order = {"identity": identity, "bench": bench, "setup": setup, "presets": presets, "state": state}
    return Holds(
        identity_copies=identity.copies,
        serial_characters=identity.serial,
        bench_copies=bench.copies,
        bench_growth=bench.growth,
        if_lost=bench.if_lost,
        setup_copies=setup.copies,
        setup_growth=setup.growth,
        setup_saves=setup.saves,
        preset_slots=presets.slots,
        preset_spare=presets.spare,
        preset_growth=presets.growth,
        preset_names=presets.names,
        preset_saves=presets.saves,
        state_copies=state.copies,
        state_growth=state.growth,
        state_saves=state.saves,
        chosen=tuple(kind for kind, store in in_order.items() if store.chosen),
        place=place,
    )


ROOMY = Holds(
    identity_copies=1,
    serial_characters=0,
    bench_copies=1,
    bench_growth=0,
    if_lost=IfLost.MUTE,
    setup_copies=2,
    setup_growth=0,
    setup_saves=0,
    preset_slots=MOST_PLACES,
    preset_spare=0,
    preset_growth=0,
    preset_names=0,
    preset_saves=0,
    state_copies=2,
    state_growth=0,
    state_saves=0,
)
"""What presets are checked against where the holds block itself is missing or wrong."""


def check_if_lost(holds: Holds, items: Sequence[Item], found: list[Diagnostic]) -> None:
    """Refuses to play on without a trim that has a safe value."""
    if holds.if_lost is not IfLost.PLAY:
        return
    for trim in items:
        if isinstance(trim, Trim) and trim.safe is not None:
            sentence = (
                f"{called('Trim', trim.label)} has a safe value, and the bench says that the unit plays on"
                " while trims are lost."
            )
            also = () if holds.place is None else (Mark(holds.place, "says if lost play"),)
            found.append(Diagnostic(PLAY_WITH_SAFE_TRIM, sentence, trim.place, also, try_="if lost mute"))


def _default(kind: str) -> Store:
    return Store(copies=_FEWEST_CHOSEN, growth=_GROWTH[kind], chosen=True)


def _store(node: nodes.Store, found: list[Diagnostic]) -> Store:
    kind = node.kind.text
    lines = placed(node.parts, PARTS[kind], kind, _WHERE, found)
    said = read_statements(lines, kind, node.kind.span, found)
    if_lost = said.get(nodes.IfLost)

    def number(part: type[_Counted], what: str, low: int, high: int, default: int, word: str) -> int:
        line = said.get(part)
        if line is None:
            return default
        count = bounds.whole(_count(line), f"{what} of {kind}", low, high, found, word)
        return default if count is None else count

    slots, spare = _pool(said, found) if kind == "presets" else (0, 0)
    return Store(
        copies=number(
            nodes.Copies, "number", _LEAST_COPIES.get(kind, 1), MOST_PLACES, _FEWEST_CHOSEN, "copy"
        ),
        serial=number(nodes.Serial, "serial", 1, LONGEST_SERIAL, 0, "character"),
        growth=number(nodes.Growth, "growth", 0, MOST_GROWTH, _GROWTH.get(kind, 0), "byte"),
        saves=number(nodes.Saves, "saves a day", 1, MOST_SAVES, 0, "save"),
        slots=slots,
        spare=spare,
        names=number(nodes.Names, "names", 1, LONGEST_PRESET_NAME, 0, "byte"),
        if_lost=IfLost(if_lost.answer.text) if if_lost else IfLost.MUTE,
        chosen=said.get(nodes.Spare if kind == "presets" else nodes.Copies) is None,
    )


_Counted = nodes.Copies | nodes.Serial | nodes.Growth | nodes.Saves | nodes.Names


def _count(line: _Counted) -> nodes.Integer:
    match line:
        case nodes.Serial(characters=count) | nodes.Saves(per_day=count):
            return count
        case nodes.Copies(count=count) | nodes.Growth(count=count) | nodes.Names(count=count):
            return count


def _pool(said: Statements, found: list[Diagnostic]) -> tuple[int, int]:
    """Slots and spare places of the presets."""
    line, more = said.need(nodes.Slots, "presets 4 slots", found), said.get(nodes.Spare)
    slots = bounds.whole(line.count, "number of presets", 1, MOST_PLACES, found, "slot") if line else None
    spare = _FEWEST_SPARE if more is None else bounds.whole(
        more.count, "spare of presets", 1, MOST_PLACES, found, "place"
    )
    if slots is None or spare is None:
        return 0, 0
    if slots + spare > MOST_PLACES:
        sentence = (
            f"The presets have {slots} slots and {spare} spare, {slots + spare} places in all; {MOST_PLACES}"
            " are the most."
        )
        place = said.place if line is None else line.span
        also = () if more is None else (Mark(more.span),)
        found.append(Diagnostic(TOO_MANY_PLACES, sentence, place, also))
    return slots, spare
