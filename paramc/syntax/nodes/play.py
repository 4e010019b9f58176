"""Modes, gestures, deeds, presets, promises and history."""

from __future__ import annotations

from typing import TypeAlias

from paramc.syntax.node import Node
from paramc.syntax.nodes.items import ByExpression, Caution, Danger, Help, Warning
from paramc.syntax.nodes.literals import Control, Integer, Name, Quantity, Text, Value, Word


class Press(Node):
    control: Control


class PowerUp(Node):
    pass


class Hold(Node):
    control: Control
    second: Control | None
    power_up: PowerUp | None
    time: Quantity


class Jumper(Node):
    text: Text


Gesture: TypeAlias = "Press | Hold | Jumper"


class DeedBypass(Node):
    pass


class DeedFlip(Node):
    flag: Name


class DeedNext(Node):
    pass


class DeedWhile(Node):
    item: Name
    at_most: Quantity


class DeedReset(Node):
    scope: Word


class DeedLearn(Node):
    pedal: Control


Deed: TypeAlias = "DeedBypass | DeedFlip | DeedNext | DeedWhile | DeedReset | DeedLearn"


class Hidden(Node):
    pass


class Enter(Node):
    gesture: Gesture


class After(Node):
    time: Quantity


class Leave(Node):
    """Ways out: a gesture, a time with no control moved, or both."""

    ways: tuple[Gesture | After, ...]


class Blinks(Node):
    rate: Quantity


class LampState(Node):
    state: Word | Blinks


class Shows(Node):
    control: Control
    state: LampState
    label: Text | None


class UndoesPress(Node):
    pass


class Twice(Node):
    pass


class Does(Node):
    gesture: Gesture
    deed: Deed
    undoes_press: UndoesPress | None
    twice: Twice | None


class PedalRange(Node):
    heel: Name
    toe: Name


class Sets(Node):
    """A control and what it sets: one item, or several chosen by a selector."""

    control: Control
    items: tuple[Name, ...]
    chooser: Name | None
    pedal_range: PedalRange | None


ModeLine: TypeAlias = "Hidden | Enter | Leave | Shows | Does | Sets | Caution | Warning | Danger | Help"


class Mode(Node):
    name: Name
    label: Text | None
    lines: tuple[ModeLine, ...]


class Taps(Node):
    count: Integer | Name


class Gap(Node):
    time: Quantity


class Fold(Node):
    how: Word


TapLine: TypeAlias = "Taps | Gap | Fold"


class Tap(Node):
    control: Control
    item: Name
    chooser: Name | None
    lines: tuple[TapLine, ...]


class Every(Node):
    pass


class Channel(Node):
    value: Integer | Every | Name


class Fine(Node):
    pass


class Cc(Node):
    number: Integer
    fine: Fine | None
    item: Name


class Program(Node):
    first: Integer
    last: Integer


MidiLine: TypeAlias = "Channel | Cc | Program"


class Midi(Node):
    lines: tuple[MidiLine, ...]

class Setting(Node):
    item: Name
    value: Value


PresetLine: TypeAlias = "Setting | Caution | Warning | Danger | Help"


class Preset(Node):
    number: Integer
    label: Text
    like: Integer | None
    lines: tuple[PresetLine, ...]


class AtMost(Node):
    bound: Quantity


class AtLeast(Node):
    bound: Quantity


class InsideRange(Node):
    first: Quantity
    last: Quantity


class Vary(Node):
    trims: tuple[Name, ...]


class Promise(Node):
    label: Text
    scope: Word
    subject: Name | ByExpression
    comparison: AtMost | AtLeast | InsideRange
    vary: Vary | None


class Retired(Node):
    name: Name
    since: Integer


class AcceptMode(Node):
    name: Name


class AcceptPreset(Node):
    number: Integer


class Accept(Node):
    rule: Word
    subject: Name | Control | AcceptMode | AcceptPreset | None
    reason: Text


class Borrow(Node):
    path: Text
