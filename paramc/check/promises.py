"""The promise blocks: what is promised, where, and within which bounds. Whether it is kept is asked later,
where the tables are at hand (layout/promises)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import assert_never

from paramc.check.expressions import read_expression
from paramc.check.known import Known
from paramc.check.promise_rules import PROMISE_BOUNDS, PROMISE_SUBJECT, PROMISE_VARY
from paramc.check.quantities import Asked, number_in
from paramc.check.statements import said_twice
from paramc.check.words import called, capital, listed, quoted
from paramc.model.items import Flag, Item, Selector, unit_of
from paramc.model.promises import OfExpression, OfItem, Promise, PromiseScope, Subject
from paramc.numbers.units import NO_UNIT, Unit
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark


def read_promises(
    blocks: Sequence[nodes.Promise], known: Known, items: Iterable[Item], found: list[Diagnostic]
) -> tuple[Promise, ...]:
    """The promises in reading order, without those in which something is wrong."""
    made = {item.name: item for item in items}
    first: dict[str, nodes.Promise] = {}
    promises = []
    for block in blocks:
        before = first.setdefault(block.label.value, block)
        if before is not block:
            sentence = f"There are two promises {quoted(block.label.value)}."
            found.append(said_twice(sentence, block.label, before.label))
            continue
        promise = _promise(block, known, made, found)
        if promise is not None:
            promises.append(promise)
    return tuple(promises)


def _promise(
    block: nodes.Promise, known: Known, made: Mapping[str, Item], found: list[Diagnostic]
) -> Promise | None:
    owner = called("promise", block.label.value)
    told: list[Diagnostic] = []
    subject, names, unit = _subject(block, owner, known, made, told)
    vary = _vary(block, names, owner, known, told)
    low, high = (None, None) if unit is None else _bounds(block, unit, owner, told)
    found.extend(told)
    if told or subject is None:
        return None
    scope = PromiseScope(block.scope.text)
    return Promise(block.label.value, scope, subject, low, high, vary, block.label.span)


def _subject(
    block: nodes.Promise, owner: str, known: Known, made: Mapping[str, Item], found: list[Diagnostic]
) -> tuple[Subject | None, tuple[str, ...], Unit | None]:
    """What is promised of, the items that it names, and the unit of its bounds; None beside a stop or where
    an item could not be made."""
    match block.subject:
        case nodes.Name(text=text) as name:
            said = [name]
        case nodes.ByExpression(expression=expression):
            said = list(_names(expression))
        case other:
            assert_never(other)
    for name in said:
        item = known.item(name, owner, found)
        one = made.get(name.text)
        if item is None or one is None:
            continue
        if isinstance(one, Selector) and any(way.number is None for way in one.ways):
            sentence = f"{capital(owner)} speaks of {item}, whose ways have no numbers."
            found.append(Diagnostic(PROMISE_SUBJECT, sentence, name.span, (Mark(item.place),)))
    names = tuple(dict.fromkeys(name.text for name in said))
    if found or any(name not in made for name in names):
        return None, names, None
    match block.subject:
        case nodes.Name(text=text):
            one = made[text]
            unit = NO_UNIT if isinstance(one, Flag) else unit_of(one)
            return OfItem(text), names, unit
        case nodes.ByExpression(expression=expression):
            meant = read_expression(expression, owner, names or ("value",), found)
            return None if meant is None else OfExpression(meant), names, NO_UNIT
        case another:
            assert_never(another)


def _names(expression: nodes.Expression) -> Iterator[nodes.Name]:
    """The names in an expression, in reading order."""
    left: list[nodes.Expression] = [expression]
    while left:
        here = left.pop()
        match here:
            case nodes.Name():
                yield here
                continue
            case nodes.Number():
                continue
            case nodes.Negated(value=value):
                inside: list[nodes.Expression] = [value]
            case nodes.Sum(terms=marked) | nodes.Factors(factors=marked):
                inside = [part for _, part in marked]
            case nodes.Power(parts=parts):
                inside = list(parts)
            case nodes.Call(arguments=arguments):
                inside = list(arguments)
            case other:
                assert_never(other)
        left.extend(reversed(inside))


def _vary(
    block: nodes.Promise, names: Sequence[str], owner: str, known: Known, found: list[Diagnostic]
) -> tuple[str, ...]:
    if block.vary is None:
        return ()
    first: dict[str, nodes.Name] = {}
    for name in block.vary.trims:
        before = first.setdefault(name.text, name)
        if before is not name:
            found.append(said_twice(f"{capital(owner)} varies {name.text} twice.", name, before))
            continue
        item = known.item(name, owner, found)
        if item is None:
            continue
        if item.kind != "trim":
            sentence = f"{capital(owner)} varies {item}, which is no trim."
        elif name.text not in names:
            sentence = f"{capital(owner)} varies {item}, and its subject does not speak of it."
        else:
            continue
        found.append(Diagnostic(PROMISE_VARY, sentence, name.span, (Mark(item.place),)))
    return tuple(first)


def _bounds(
    block: nodes.Promise, unit: Unit, owner: str, found: list[Diagnostic]
) -> tuple[Fraction | None, Fraction | None]:
    """The lowest and highest number that keep the promise, in the unit; None for no such bound."""
    asked = Asked(f"bound of {owner}", "")
    match block.comparison:
        case nodes.AtMost(bound=bound):
            return None, number_in(bound, unit, asked, found)
        case nodes.AtLeast(bound=bound):
            return number_in(bound, unit, asked, found), None
        case nodes.InsideRange(first=first, last=last) as written:
            ends = [number_in(end, unit, asked, found) for end in (first, last)]
            if ends[0] is not None and ends[1] is not None and ends[0] == ends[1]:
                both = listed(str(end.amount) for end in (first, last))
                sentence = f"{capital(owner)} is to lie within {both}, which are one value."
                found.append(Diagnostic(PROMISE_BOUNDS, sentence, written.span))
            known_ends = [end for end in ends if end is not None]
            return (min(known_ends), max(known_ends)) if len(known_ends) == 2 else (None, None)
        case other:
            assert_never(other)
