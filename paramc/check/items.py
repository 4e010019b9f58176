"""The items of a product: params, selectors, flags and trims, from what was written of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from paramc.check.engines import with_engine
from paramc.check.history import earlier_ways, read_history
from paramc.check.item_rules import ROLE_DIMENSION, SELECTOR_WAYS, WAY_NUMBERS
from paramc.check.notes import read_notes
from paramc.check.proposals import WouldDo
from paramc.check.quantities import Asked, measures, number_in
from paramc.check.scale_rules import TOO_MANY_CODES
from paramc.check.scales import read_flat, read_scale, scale_marks
from paramc.check.statements import Statements, placed, read_statements, word_of
from paramc.check.trims import read_trim
from paramc.check.value_rules import VALUE_OFF_GRID
from paramc.check.values import item_code, near_step, neighbours, number_code
from paramc.check.words import called, capital, short
from paramc.model.items import Flag, Item, Param, Role, Selector, Way
from paramc.model.scale import HALF, Stepped
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import NO_UNIT, Dimension, Unit
from paramc.numbers.wording import real_text
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark, has_stop

_PARAM: Final = frozenset({"param"})
_SELECTOR: Final = frozenset({"selector"})
_TRIM: Final = frozenset({"trim"})
_PLAYERS: Final = frozenset({"param", "selector", "flag"})
_ITEMS: Final = _PLAYERS | _TRIM
_ALL: Final = _ITEMS | {"preset", "mode"}

WHERE: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "range": _PARAM | _TRIM,
        "step": _PARAM | _TRIM,
        "coded": _PARAM,
        "taper": _PARAM,
        "noon": _PARAM,
        "flat": _PARAM,
        "off at stop": _PARAM,
        "way": _SELECTOR,
        "default": _PLAYERS,
        "nominal": _TRIM,
        "kept once": _PLAYERS,
        "acts as": _PARAM,
        "limiter": _PARAM,
        "plausible": _TRIM,
        "probe": _TRIM,
        "aim": _TRIM,
        "slope": _TRIM,
        "safe": _TRIM,
        "engine": _ITEMS,
        "prefer speed": _ITEMS,
        "since": _ITEMS,
        "was": _ITEMS,
        "narrowed": _PARAM | _TRIM,
        "caution": _ALL,
        "warning": _ALL,
        "danger": _ALL,
        "help": _ALL,
    }
)
"""Which statement goes where: by its word the kinds of block that it has a meaning in."""

_KINDS: Final = ("param", "selector", "flag", "trim", "preset", "mode")
_STATEMENTS: Final = {
    kind: word_of(kind)
    for kind in vars(nodes).values()
    if isinstance(kind, type) and issubclass(kind, nodes.Node) and word_of(kind) in WHERE
}
_BELONGS: Final = {
    kind: frozenset(node for node, word in _STATEMENTS.items() if kind in WHERE[word]) for kind in _KINDS
}
_HOMES: Final = {
    node: tuple(kind for kind in _KINDS if kind in WHERE[word]) for node, word in _STATEMENTS.items()
}
_SEVERAL: Final = frozenset(
    {nodes.Way, nodes.Since, nodes.Was, nodes.Caution, nodes.Warning, nodes.Danger, nodes.Help}
)

_LEVELS: Final = frozenset({Dimension.LEVEL_DIFFERENCE, Dimension.LEVEL_DBU, Dimension.LEVEL_DBV})
_SHARES: Final = frozenset({Dimension.SHARE, Dimension.RATIO, Dimension.COUNT})
ROLE_DIMENSIONS: Final[Mapping[Role, frozenset[Dimension]]] = MappingProxyType(
    {
        Role.DELAY_TIME: frozenset({Dimension.TIME}),
        Role.LOOP_GAIN: frozenset({Dimension.SHARE, Dimension.RATIO}),
        Role.LEVEL: _LEVELS | _SHARES | {Dimension.VOLTAGE},
        Role.GAIN: _SHARES | {Dimension.LEVEL_DIFFERENCE},
        Role.THRESHOLD: _LEVELS | _SHARES | {Dimension.VOLTAGE},
        Role.RESONANCE: _SHARES | {Dimension.LEVEL_DIFFERENCE},
        Role.RATE: frozenset({Dimension.FREQUENCY, Dimension.TEMPO}),
    }
)
"""What a param with a role can be measured in."""

MOST_WAYS: Final = 255

NO_TURNS: Final[Mapping[str, Fraction]] = MappingProxyType({})


def read_items(
    blocks: Iterable[nodes.Item], found: list[Diagnostic], turns: Mapping[str, Fraction] = NO_TURNS
) -> tuple[Item, ...]:
    """The items in reading order; what is wrong with them is told.

    One whose values cannot be told at all is left out. One with a wrong default or engine has 0 or none
    there, beside its stop, so that what presets and modes say of it can be checked too.
    turns: by item the degrees of the first knob that sets it, for a default at a clock position.
    """
    items = []
    for block in blocks:
        told: list[Diagnostic] = []
        turn = turns.get(block.name.text)
        item = _read(block, turn, _trial(block, turn), told)
        found.extend(replace(mistake, subject=block.name.text) for mistake in told)
        if item is not None:
            items.append(item)
    return tuple(items)


def _trial(block: nodes.Item, turn: Fraction | None) -> WouldDo:
    def would_do(line: nodes.ItemLine) -> bool:
        lines = tuple(line if type(old) is type(line) else old for old in block.lines)
        told: list[Diagnostic] = []
        other = nodes.Item(block.span, block.kind, block.name, block.label, lines)
        item = _read(other, turn, None, told)
        return item is not None and not has_stop(told)

    return would_do


def _read(
    block: nodes.Item, turn: Fraction | None, would_do: WouldDo, found: list[Diagnostic]
) -> Item | None:
    kind = block.kind.text
    owner = called(kind, block.label.value)
    lines = placed(block.lines, _BELONGS[kind], owner, _HOMES, found)
    said = read_statements(lines, owner, block.name.span, found, _SEVERAL)
    item: Item | None
    match kind:
        case "param":
            item = _param(block, said, turn, would_do, found)
        case "selector":
            item = _selector(block, said, lines, turn, found)
        case "flag":
            item = _flag(block, said, turn, found)
        case "trim":
            item = read_trim(block, said, would_do, found)
        case _:
            raise AssertionError(f"an item of kind {kind}")
    if item is None:
        return None
    item = replace(item, notes=read_notes(lines), history=read_history(lines, item, turn, found))
    return with_engine(item, said, would_do, found)


# ---- params


def _param(
    block: nodes.Item, said: Statements, turn: Fraction | None, would_do: WouldDo, found: list[Diagnostic]
) -> Param | None:
    scale = read_scale(said, False, would_do, found)
    role = _role(said, found)
    if scale is None:
        return None
    limiter = said.get(nodes.Limiter)
    param = Param(
        name=block.name.text,
        label=block.label.value,
        scale=scale,
        default=0,
        kept_once=said.get(nodes.KeptOnce) is not None,
        role=role,
        limiter=limiter.text.value if limiter else None,
        flat=read_flat(said, scale, would_do, found),
        prefers_speed=said.get(nodes.PreferSpeed) is not None,
        place=said.place,
    )
    return replace(param, default=_default(said, param, turn, found))


def _default(said: Statements, param: Param, turn: Fraction | None, found: list[Diagnostic]) -> int:
    """As given, else noon, else the value at half travel; 0 beside a stop where that is no code."""
    scale = param.scale
    given, noon = said.get(nodes.Default), said.get(nodes.Noon)
    also = scale_marks(said)
    if given is not None:
        asked = Asked(f"default of {said.owner}", "default", also)
        stored = item_code(given.value, param, turn, asked, found)
        return 0 if stored is None else stored.code
    if noon is not None:
        because = ("Noon is the default as well, because no other is given.",)
        asked = Asked(f"noon of {said.owner}", "default", also, because)
        amount = noon.value.amount
        number = amount.to(scale.unit).number
        stored = number_code(number, str(amount), noon.value.span, scale, asked, found)
        return 0 if stored is None else stored.code
    middle = scale.at(HALF)
    if not isinstance(scale.grid, Stepped):
        return scale.code_at(HALF)
    exact = scale.exact_code(middle) if isinstance(middle, Fraction) else None
    if exact is None:
        value = real_text(middle, scale.unit)
        sentence = (
            f"{capital(said.owner)} has no default and no noon, and its value at half travel, {value}, lies"
            f" between two steps, {neighbours(middle, scale)}."
        )
        near = near_step(middle, scale)
        try_ = f"default {near}" if near else ""
        found.append(Diagnostic(VALUE_OFF_GRID, sentence, said.place, also, try_=try_))
    return exact or 0


def _role(said: Statements, found: list[Diagnostic]) -> Role | None:
    node, range_node = said.get(nodes.ActsAs), said.get(nodes.Range)
    if node is None:
        return None
    role = Role(node.role.text)
    if range_node is None:
        return role
    unit = range_node.first.amount.unit
    dimension = unit.dimension
    if dimension not in ROLE_DIMENSIONS[role]:
        sentence = f"{capital(said.owner)} acts as {role.value}, and its range {measures(unit)}."
        also = (Mark(range_node.span, "its range"),)
        fitting = [other.value for other, measured in ROLE_DIMENSIONS.items() if dimension in measured]
        try_ = f"acts as {fitting[0]}" if fitting else "Leave the role out."
        found.append(Diagnostic(ROLE_DIMENSION, sentence, node.span, also, try_=try_))
    return role


# ---- selectors and flags


def _selector(
    block: nodes.Item,
    said: Statements,
    lines: Iterable[nodes.ItemLine],
    turn: Fraction | None,
    found: list[Diagnostic],
) -> Selector | None:
    written = [line for line in lines if isinstance(line, nodes.Way)]
    ways = _ways(written, said, found)
    default_try = f"default {short(written[0].name.text)}" if written else "Write ways and a default."
    given = said.need(nodes.Default, default_try, found)
    if ways is None:
        return None
    selector = Selector(
        name=block.name.text,
        label=block.label.value,
        ways=ways,
        default=0,
        kept_once=said.get(nodes.KeptOnce) is not None,
        prefers_speed=said.get(nodes.PreferSpeed) is not None,
        place=said.place,
    )
    return replace(selector, default=_given(given, selector, said, turn, found))


def _ways(written: list[nodes.Way], said: Statements, found: list[Diagnostic]) -> tuple[Way, ...] | None:
    if len(written) < 2:
        has = "no way" if not written else "only one way"
        sentence = f"{capital(said.owner)} has {has}, and a choice needs two."
        place = written[0].span if written else said.place
        found.append(Diagnostic(SELECTOR_WAYS, sentence, place, try_="Write two ways or more."))
        return None
    if len(written) > MOST_WAYS:
        sentence = f"{capital(said.owner)} has {len(written)} ways, and {MOST_WAYS} are the most."
        found.append(Diagnostic(TOO_MANY_CODES, sentence, written[MOST_WAYS].span))
        return None
    numbered = [way for way in written if way.number is not None]
    if not numbered:
        return tuple(Way(way.name.text, way.label.value, None, earlier_ways(way)) for way in written)
    if len(numbered) < len(written):
        without = next(way for way in written if way.number is None)
        sentence = (
            f"{capital(called('way', without.label.value))} of {said.owner} has no number, and"
            f" {called('way', numbered[0].label.value)} has one."
        )
        also = (Mark(numbered[0].span, "a way with a number"),)
        because = ("Either all ways have numbers or none has.",)
        found.append(Diagnostic(WAY_NUMBERS, sentence, without.span, also, because))
        return None
    unit = _way_amount(numbered[0]).unit
    ways = [_way(way, unit, numbered[0], said.owner, found) for way in numbered]
    return None if None in ways else tuple(way for way in ways if way is not None)


def _way_amount(way: nodes.Way) -> Quantity:
    if isinstance(way.number, nodes.Quantity):
        return way.number.amount
    assert way.number is not None
    return Quantity(way.number.value, NO_UNIT)


def _way(
    way: nodes.Way, unit: Unit, first: nodes.Way, owner: str, found: list[Diagnostic]
) -> Way | None:
    assert way.number is not None
    label = called("way", way.label.value)
    asked = Asked(f"number of {label} of {owner}", "", (Mark(first.span, "its first way"),))
    number = number_in(nodes.Quantity(way.number.span, _way_amount(way)), unit, asked, found)
    if number is None:
        return None
    return Way(way.name.text, way.label.value, Quantity(number, unit), earlier_ways(way))


def _flag(
    block: nodes.Item, said: Statements, turn: Fraction | None, found: list[Diagnostic]
) -> Flag:
    given = said.need(nodes.Default, "default off", found)
    flag = Flag(
        name=block.name.text,
        label=block.label.value,
        default=0,
        kept_once=said.get(nodes.KeptOnce) is not None,
        prefers_speed=said.get(nodes.PreferSpeed) is not None,
        place=said.place,
    )
    return replace(flag, default=_given(given, flag, said, turn, found))


def _given(
    given: nodes.Default | None,
    item: Selector | Flag,
    said: Statements,
    turn: Fraction | None,
    found: list[Diagnostic],
) -> int:
    """The code of a default; 0 beside a stop where it is missing or wrong."""
    if given is None:
        return 0
    stored = item_code(given.value, item, turn, Asked(f"default of {said.owner}", "default"), found)
    return 0 if stored is None else stored.code
