"""Gestures and deeds, and that no gesture means two things at one time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import assert_never

from paramc.check import bounds
from paramc.check.known import Declared, Known
from paramc.check.mode_rules import (
    CHORD_OF_ONE,
    CONTROL_KIND,
    GESTURE_OUT_OF_PLACE,
    GESTURE_TWICE,
    ITEM_KIND,
    UNDOES_NO_PRESS,
)
from paramc.check.pedals import read_learn
from paramc.check.words import capital, quoted
from paramc.model.modes import (
    Bypass,
    Deed,
    Does,
    Flip,
    Gesture,
    Hold,
    Jumper,
    Mode,
    NextPreset,
    Press,
    Reset,
    ResetScope,
    WhileHeld,
)
from paramc.numbers.units import SPELLINGS
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

SHORTEST_HOLD, LONGEST_HOLD = Fraction(1, 10), Fraction(60)
LONGEST_WHILE = Fraction(600)


def read_gesture(node: nodes.Gesture, owner: str, known: Known, found: list[Diagnostic]) -> Gesture | None:
    """A gesture; None where something is wrong with it."""
    match node:
        case nodes.Press():
            return Press(node.control.text, node.span) if _foot(node.control, owner, known, found) else None
        case nodes.Hold():
            return _hold(node, owner, known, found)
        case nodes.Jumper():
            return Jumper(node.text.value, node.span)
        case other:
            assert_never(other)


def _hold(node: nodes.Hold, owner: str, known: Known, found: list[Diagnostic]) -> Hold | None:
    controls = [node.control]
    if node.second is not None and node.second.text == node.control.text:
        sentence = f"{capital(owner)} holds {node.control.text} together with itself."
        found.append(Diagnostic(CHORD_OF_ONE, sentence, node.control.span.to(node.second.span)))
    elif node.second is not None:
        controls.append(node.second)
    feet = [_foot(control, owner, known, found) for control in controls]
    seconds = bounds.measure_within(
        node.time, f"hold of {owner}", SHORTEST_HOLD, LONGEST_HOLD, SPELLINGS["s"], found
    )
    if seconds is None or not all(feet):
        return None
    names = tuple(control.text for control in controls)
    return Hold(names, seconds, node.power_up is not None, node.span)


def _foot(name: nodes.Control, owner: str, known: Known, found: list[Diagnostic]) -> bool:
    control = known.control(name, owner, found)
    if control is not None and control.kind != "footswitch":
        sentence = f"{capital(owner)} makes a gesture of {control}, which is no footswitch."
        found.append(Diagnostic(CONTROL_KIND, sentence, name.span, (Mark(control.place),)))
    return control is not None and control.kind == "footswitch"


def read_does(node: nodes.Does, owner: str, known: Known, found: list[Diagnostic]) -> Does | None:
    """A gesture and its deed; None where something is wrong with one of them."""
    gesture = read_gesture(node.gesture, owner, known, found)
    deed = _deed(node.deed, owner, known, found)
    if node.undoes_press is not None and not isinstance(node.gesture, nodes.Hold):
        sentence = f"{capital(owner)} says undoes press of a gesture that is no hold."
        found.append(Diagnostic(UNDOES_NO_PRESS, sentence, node.undoes_press.span))
    if gesture is None or deed is None:
        return None
    return Does(gesture, deed, node.undoes_press is not None, node.twice is not None, node.span)


def _deed(node: nodes.Deed, owner: str, known: Known, found: list[Diagnostic]) -> Deed | None:
    match node:
        case nodes.DeedBypass():
            return Bypass()
        case nodes.DeedFlip(flag=name):
            return Flip(name.text) if _item(name, "flag", "flips", owner, known, found) else None
        case nodes.DeedNext():
            return NextPreset()
        case nodes.DeedWhile(item=name):
            at_most = bounds.measure_within(
                node.at_most, f"longest hold of {owner}", SHORTEST_HOLD, LONGEST_WHILE, SPELLINGS["s"], found
            )
            chosen = _item(name, "selector", "does, while a switch is held, what is said by",
                           owner, known, found)  # fmt: skip
            return None if at_most is None or chosen is None else WhileHeld(name.text, at_most)
        case nodes.DeedReset(scope=word):
            return Reset(ResetScope(word.text))
        case nodes.DeedLearn():
            return read_learn(node, owner, known, found)
        case other:
            assert_never(other)


def _item(
    name: nodes.Name, kind: str, verb: str, owner: str, known: Known, found: list[Diagnostic]
) -> Declared | None:
    item = known.item(name, owner, found)
    if item is None or item.kind == kind:
        return item
    sentence = f"{capital(owner)} {verb} {item}, which is no {kind}."
    found.append(Diagnostic(ITEM_KIND, sentence, name.span, (Mark(item.place),)))
    return None


# ---- one meaning at a time

_Key = tuple[str, frozenset[str]]


def _key(gesture: Gesture) -> _Key:
    """What makes two gestures the same to a foot: the time of a hold does not."""
    match gesture:
        case Press(control):
            return "press", frozenset({control})
        case Hold(controls, _, at_power_up):
            return ("hold at power up" if at_power_up else "hold"), frozenset(controls)
        case Jumper(jumper):
            return "jumper", frozenset({jumper})
        case other:
            assert_never(other)


def gesture_text(gesture: Gesture) -> str:
    """A gesture as messages call it, without its time."""
    match gesture:
        case Press(control):
            return f"press {control}"
        case Hold(controls, _, at_power_up):
            return f"hold {' + '.join(controls)}{' at power up' if at_power_up else ''}"
        case Jumper(jumper):
            return f"jumper {quoted(jumper)}"
        case other:
            assert_never(other)


def check_gestures(modes: Sequence[tuple[Mode, str]], found: list[Diagnostic]) -> None:
    """Refuses gestures with two meanings, or with one that they cannot have.

    modes: each with how messages call it.
    """
    for mode, owner in modes:
        _check_power_up(mode, owner, found)
    _check_deeds([pair for pair in modes if pair[0].open], found)
    for pair in modes:
        if not pair[0].open:
            _check_deeds([pair], found)
    _check_enters(modes, found)


def _check_power_up(mode: Mode, owner: str, found: list[Diagnostic]) -> None:
    inside = [does.gesture for does in mode.does if not mode.open]
    for gesture in (mode.leave, *inside):
        if isinstance(gesture, Hold) and gesture.at_power_up:
            verb = "is left" if gesture is mode.leave else "does something"
            sentence = f"{capital(owner)} {verb} by a gesture at power up, when it cannot have been entered."
            found.append(Diagnostic(GESTURE_OUT_OF_PLACE, sentence, gesture.place))


def _meanings(mode: Mode) -> Iterator[Gesture]:
    """The gestures that mean something in a mode: its deeds and its way out."""
    yield from (does.gesture for does in mode.does)
    if mode.leave is not None:
        yield mode.leave


def _check_deeds(modes: Sequence[tuple[Mode, str]], found: list[Diagnostic]) -> None:
    """No gesture twice in modes that are there at the same time."""
    first: dict[_Key, Gesture] = {}
    for mode, owner in modes:
        for gesture in _meanings(mode):
            before = first.setdefault(_key(gesture), gesture)
            if before is not gesture:
                sentence = f"{capital(owner)} gives {gesture_text(gesture)} a second meaning."
                found.append(_twice(sentence, gesture, before))


def _check_enters(modes: Sequence[tuple[Mode, str]], found: list[Diagnostic]) -> None:
    """A gesture that enters a mode enters no other and means nothing else."""
    enters: dict[_Key, tuple[Mode, str]] = {}
    for mode, owner in modes:
        if mode.enter is None:
            continue
        before, before_owner = enters.setdefault(_key(mode.enter), (mode, owner))
        if before is not mode and before.enter is not None:
            sentence = f"{gesture_text(mode.enter)} enters {owner} and {before_owner}."
            found.append(_twice(capital(sentence), mode.enter, before.enter))
    for mode, owner in modes:
        for gesture in _meanings(mode):
            entered, entered_owner = enters.get(_key(gesture), (None, ""))
            if entered is None or entered.enter is None or (entered is mode and gesture is mode.leave):
                continue
            sentence = f"{gesture_text(gesture)} enters {entered_owner} and means something else in {owner}."
            found.append(_twice(capital(sentence), gesture, entered.enter))


def _twice(sentence: str, gesture: Gesture, before: Gesture) -> Diagnostic:
    also = () if before.place is None else (Mark(before.place, "its other meaning"),)
    return Diagnostic(GESTURE_TWICE, sentence, gesture.place, also)
