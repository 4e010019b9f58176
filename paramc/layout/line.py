"""Several products of one maker: what must be unique, and what should be alike, across the line."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations
from typing import TypeAlias, assert_never

from paramc.check.words import quoted
from paramc.layout.layout import Kind, Layout
from paramc.layout.line_rules import CC_DIFFERS, CODE_SHARED, GESTURE_DIFFERS, IDENTITY_DIFFERS, PREFIX_SHARED
from paramc.model.modes import (
    Bypass,
    Deed,
    Flip,
    Gesture,
    Hold,
    Jumper,
    Learn,
    NextPreset,
    Press,
    Reset,
    WhileHeld,
)
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Mark
from paramc.text.source import Span


def line(layouts: Sequence[Layout]) -> Iterator[Diagnostic]:
    """What is wrong between any two of them, told at the later one. Two of one name are revisions of one
    product, which share what products must not."""
    for one, other in combinations(layouts, 2):
        if one.product.name != other.product.name:
            for check in _CHECKS:
                yield from check(one, other)


def _shared(one: Layout, other: Layout) -> Iterator[Diagnostic]:
    first, second = one.product, other.product
    also = _marks(first.place)
    if first.code == second.code:
        sentence = f"{_called(second)} has the code 0x{second.code:04X}, which is that of {_named(first)}."
        yield Diagnostic(CODE_SHARED, sentence, second.place, also)
    if first.prefix == second.prefix:
        sentence = f"{_called(second)} has the prefix {second.prefix}, which is that of {_named(first)}."
        yield Diagnostic(PREFIX_SHARED, sentence, second.place, also)


def _controllers(one: Layout, other: Layout) -> Iterator[Diagnostic]:
    first, second = one.product, other.product
    if first.midi is None or second.midi is None:
        return
    before = {cc.item: cc for cc in first.midi.ccs}
    for cc in second.midi.ccs:
        was = before.get(cc.item)
        if was is not None and was.numbers != cc.numbers:
            sentence = f"Controller {cc.number} sets {cc.item}, and in {_named(first)} {was.number} does."
            try_ = f"cc {was.number}{' fine' if was.fine else ''} sets {cc.item}"
            yield Diagnostic(CC_DIFFERS, sentence, cc.place, _marks(was.place), try_=try_, subject=cc.item)


def _identity(one: Layout, other: Layout) -> Iterator[Diagnostic]:
    before, now = _identity_words(one), _identity_words(other)
    if one.product.chip.page != other.product.chip.page:
        before, now = before[:-1], now[:-1]
    for was, here in zip(before, now, strict=True):
        if was != here:
            of, other_one = _named(other.product), _named(one.product)
            sentence = f"The identity of {of} has {here}, and that of {other_one} {was}."
            place, also = other.product.holds.place, _marks(one.product.holds.place)
            yield Diagnostic(IDENTITY_DIFFERS, sentence, place, also, subject="identity")


def _identity_words(layout: Layout) -> tuple[str, ...]:
    """What has to be known to find and read an identity, the address last."""
    chip, holds = layout.product.chip, layout.product.holds
    record = layout.record(Kind.IDENTITY)
    assert record is not None
    return (
        f"a serial of {holds.serial_characters} characters",
        f"order {chip.order.value}",
        f"checksum {chip.checksum.name}",
        f"its first place at 0x{record.places[0]:04X}",
    )


_Key: TypeAlias = tuple[str, ...]


def _gestures(one: Layout, other: Layout) -> Iterator[Diagnostic]:
    before = {key: (deed, place) for key, deed, place in _meanings(one.product)}
    for key, deed, place in _meanings(other.product):
        was = before.get(key)
        if was is not None and was[0] != deed:
            verb, *labels = key
            switches = " + ".join(quoted(label) for label in labels)
            sentence = f"{verb.format(switches)} {deed}, and in {_named(one.product)} it {was[0]}."
            yield Diagnostic(GESTURE_DIFFERS, sentence, place, _marks(was[1]))


def _meanings(product: Product) -> Iterator[tuple[_Key, str, Span | None]]:
    """Each gesture of the open modes by the labels of its switches, what it does, and where it stands."""
    for mode in product.modes:
        for does in mode.does if mode.open else ():
            key = _key(product, does.gesture)
            if key is not None:
                yield key, _deed(does.deed), does.place
        if mode.enter is not None and (key := _key(product, mode.enter)) is not None:
            yield key, "enters a mode", mode.enter.place


def _key(product: Product, gesture: Gesture) -> _Key | None:
    """What makes two gestures the same to a player. Jumpers are the bench's, and no player's."""
    match gesture:
        case Press(control):
            return "Press {}", product.control(control).label
        case Hold(controls, _, at_power_up):
            labels = sorted(product.control(control).label for control in controls)
            return "Hold {} at power up" if at_power_up else "Hold {}", *labels
        case Jumper():
            return None
        case other:
            assert_never(other)


def _deed(deed: Deed) -> str:
    """What a deed does, whatever its item is called."""
    match deed:
        case Bypass():
            return "bypasses"
        case Flip():
            return "flips a flag"
        case NextPreset():
            return "calls the next preset"
        case WhileHeld():
            return "acts while it is held"
        case Reset(scope):
            return f"resets the {scope.value}"
        case Learn():
            return "learns a pedal"
        case other:
            assert_never(other)


def _called(product: Product) -> str:
    return f"Product {quoted(product.label)}"


def _named(product: Product) -> str:
    return f"product {quoted(product.label)}"


def _marks(place: Span | None) -> tuple[Mark, ...]:
    return () if place is None else (Mark(place, "the other product"),)


_CHECKS: tuple[Callable[[Layout, Layout], Iterator[Diagnostic]], ...] = (
    _shared,
    _controllers,
    _identity,
    _gestures,
)
