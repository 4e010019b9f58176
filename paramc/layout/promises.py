"""Whether promises are kept, and how far each is from breaking: exact arithmetic over every case."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from math import inf, isnan
from typing import Final, TypeVar, assert_never

from paramc.frozen import dataclass
from paramc.layout.layout import KnobTable
from paramc.layout.promise_cases import MOST_CASES, Case, TooMany, cases_of, subject_items
from paramc.layout.promise_rules import PROMISE_BROKEN, PROMISE_NO_ANSWER, PROMISE_TOO_LARGE
from paramc.model.answers import NoAnswer, made_ready
from paramc.model.items import Flag, Item, Param, Selector, Trim, is_off, kind_word, unit_of, value_of
from paramc.model.product import Product
from paramc.model.promises import OfExpression, OfItem, Promise
from paramc.numbers.arithmetic import NEARS, REALS, Arithmetic
from paramc.numbers.real import Real, compare, subtract
from paramc.numbers.units import NO_UNIT, Unit
from paramc.numbers.wording import real_text
from paramc.text.diagnostic import Diagnostic, Mark

MOST_EXACT: Final = 2_000
"""Cases of one promise that doubles cannot tell apart and that are worked out exactly, at most."""

_ZERO: Final = Fraction(0)

N = TypeVar("N")


@dataclass(frozen=True, slots=True)
class Assessed:
    """What became of a promise.

    cases: how many there are; worked_out: all but those in which an item of its expression is off, which
    are met in `off`. worst: the case that is nearest to breaking it, or breaks it most; number: the subject
    there; spare: how far that is inside the bounds, below zero outside. All three None where nothing was
    worked out; number and spare alone where the worst case is off, which lies below every level.
    """

    promise: Promise
    cases: int
    worked_out: int
    off: tuple[str, ...]
    worst: Case | None
    number: Real | None
    spare: Real | None
    broken: bool


class _Unanswered(Exception):
    def __init__(self, case: Case, sentence: str) -> None:
        super().__init__(sentence)
        self.case = case
        self.sentence = sentence


def assessed(product: Product, knobs: Sequence[KnobTable], promise: Promise) -> Assessed | Diagnostic:
    """What became of a promise of the product; a stop where it cannot be worked out.

    knobs: the tables through which knobs are read; where there is none for a knob, its exact codes.
    """
    items = subject_items(product, promise)
    try:
        return _over(promise, items, tuple(cases_of(product, knobs, promise)))
    except TooMany:
        sentence = f"{_called(promise)} has more cases than are worked out."
        facts = (f"At most {MOST_CASES} cases of one promise are, {MOST_EXACT} of them exactly.",)
        try_ = "a promise of fewer items, or one of presets rather than positions"
        return Diagnostic(PROMISE_TOO_LARGE, sentence, promise.place, because=facts, try_=try_)
    except _Unanswered as none:
        sentence = f"{_called(promise)} has no answer {none.case.where}."
        why = (none.sentence, *case_facts(items, none.case))
        return Diagnostic(PROMISE_NO_ANSWER, sentence, promise.place, because=why)


def promise_stops(product: Product, knobs: Sequence[KnobTable]) -> Iterator[Diagnostic]:
    """A stop for each promise that is broken or cannot be worked out."""
    for promise in product.promises:
        found = assessed(product, knobs, promise)
        if isinstance(found, Diagnostic):
            yield found
        elif found.broken:
            yield _broken(product, found)


# ---- the numbers


def _over(promise: Promise, items: tuple[Item, ...], cases: tuple[Case, ...]) -> Assessed:
    near, exact = _work(NEARS, promise, items), _work(REALS, promise, items)
    off: dict[str, None] = {}
    told: list[tuple[float, float, Case]] = []
    silent: Case | None = None
    for case in cases:
        if any(is_off(item, code) for item, code in zip(items, case.codes, strict=True)):
            off[case.where] = None
            silent = silent or case
            continue
        told.append((*_spare(NEARS, promise)(near(case.codes)), case))
    of_item = isinstance(promise.subject, OfItem)
    if of_item and silent is not None and promise.low is not None:
        return Assessed(promise, len(cases), len(cases), (), silent, None, None, True)
    skipped = () if of_item else tuple(off)
    counted = len(cases) if of_item else len(told)
    if not told:
        return Assessed(promise, len(cases), counted, skipped, silent if of_item else None, None, None, False)
    # A double that knows nothing is not a number, or has no bound to its error, and reaches nowhere.
    reach = min((spare + error for spare, error, _ in told if not isnan(spare + error)), default=inf)
    seen: set[object] = set()
    worst: tuple[Real, Real, Case] | None = None
    for spare, error, case in told:
        # Equal doubles without an error are equal numbers, and the first of them is as bad as the others.
        key = spare if error == 0 else case.codes
        if spare - error > reach or key in seen:
            continue
        seen.add(key)
        if len(seen) > MOST_EXACT:
            raise TooMany
        try:
            number = exact(case.codes)
        except NoAnswer as none:
            raise _Unanswered(case, none.sentence) from None
        left = _exact_spare(promise, number)
        if worst is None or compare(left, worst[0]) < 0:
            worst = left, number, case
    assert worst is not None
    left, number, case = worst
    return Assessed(promise, len(cases), counted, skipped, case, number, left, compare(left, _ZERO) < 0)


def _work(of: Arithmetic[N], promise: Promise, items: tuple[Item, ...]) -> Callable[[tuple[int, ...]], N]:
    """The subject's number for the codes of its items, none of which is off."""
    known: dict[tuple[int, int], N] = {}

    def value(at: int, code: int) -> N:
        if (at, code) not in known:
            known[at, code] = of.of(value_of(items[at], code))
        return known[at, code]

    match promise.subject:
        case OfItem():
            return lambda codes: value(0, codes[0])
        case OfExpression(expression):
            work = made_ready(of, expression)
            names = [item.name for item in items]
            return lambda codes: work({name: value(at, codes[at]) for at, name in enumerate(names)})
        case other:
            assert_never(other)


def _spare(of: Arithmetic[N], promise: Promise) -> Callable[[N], N]:
    """How far a number is inside the bounds of a promise; below zero outside them."""
    sides: list[Callable[[N], N]] = []
    if promise.high is not None:
        high = of.of(promise.high)
        sides.append(lambda number: of.add(high, of.negate(number)))
    if promise.low is not None:
        low = of.of(-promise.low)
        sides.append(lambda number: of.add(number, low))
    if len(sides) == 1:
        return sides[0]
    above, below = sides
    return lambda number: of.minimum(above(number), below(number))


def _exact_spare(promise: Promise, number: Real) -> Real:
    spares = []
    if promise.high is not None:
        spares.append(subtract(promise.high, number))
    if promise.low is not None:
        spares.append(subtract(number, promise.low))
    return spares[0] if len(spares) == 1 or compare(spares[0], spares[1]) <= 0 else spares[1]


# ---- for people


def subject_unit(product: Product, promise: Promise) -> Unit:
    """The unit that a promise's bounds and numbers are in."""
    match promise.subject:
        case OfItem(name):
            return unit_of(product.item(name)) or NO_UNIT
        case OfExpression():
            return NO_UNIT
        case other:
            assert_never(other)


def bounds_text(product: Product, promise: Promise) -> str:
    """What is promised: "at most 50 %", "at least 1", "-3 dB to 3 dB"."""
    unit = subject_unit(product, promise)
    low, high = (None if end is None else real_text(end, unit) for end in (promise.low, promise.high))
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


def case_facts(items: Sequence[Item], case: Case) -> tuple[str, ...]:
    """What each item is at in a case, a sentence each."""
    return tuple(
        f"There {kind_word(item)} {_quoted(item.label)} is {code_text(item, code)}."
        for item, code in zip(items, case.codes, strict=True)
    )


def code_text(item: Item, code: int) -> str:
    """What a code stands for: a quantity, the label of a way, on or off."""
    match item:
        case Param() | Trim():
            return "off" if is_off(item, code) else real_text(item.scale.value(code), item.scale.unit)
        case Selector():
            return _quoted(item.way(code).label)
        case Flag():
            return "on" if code else "off"
        case other:
            assert_never(other)


def _broken(product: Product, found: Assessed) -> Diagnostic:
    promise, case = found.promise, found.worst
    assert case is not None
    items = subject_items(product, promise)
    unit = subject_unit(product, promise)
    is_ = "off" if found.number is None else real_text(found.number, unit)
    sentence = (
        f"{_called(promise)} is broken {case.where}: there is {is_}, where {bounds_text(product, promise)}"
        " is promised."
    )
    placed = ((item, item.place) for item in items if item.place is not None)
    also = tuple(Mark(place, f"{kind_word(item)} {_quoted(item.label)}") for item, place in placed)
    facts = case_facts(items, case) if isinstance(promise.subject, OfExpression) else ()
    return Diagnostic(PROMISE_BROKEN, sentence, promise.place, also, facts)


def _called(promise: Promise) -> str:
    return f"Promise {_quoted(promise.label)}"


def _quoted(label: str) -> str:
    return json.dumps(label, ensure_ascii=False)
