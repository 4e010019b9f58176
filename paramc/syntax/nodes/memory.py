"""The product, its memory and its panel."""

from __future__ import annotations

from typing import TypeAlias

from paramc.syntax.node import Node
from paramc.syntax.nodes.literals import Clock, Control, Integer, Name, Quantity, Text, Word


class Code(Node):
    value: Integer


class Prefix(Node):
    value: Name


class Revision(Node):
    value: Integer


class Hardware(Node):
    names: tuple[Text, ...]


class About(Node):
    text: Text


class Language(Node):
    value: Name


class Wakes(Node):
    """How the unit wakes: bypassed, engaged, as it was, or what a selector says."""

    how: Word | Name


class First(Node):
    preset: Integer


class Supply(Node):
    voltage: Quantity
    current_kind: Word
    polarity: Word
    current: Quantity


class Inside(Node):
    kind: Word


class Hot(Node):
    text: Text


class Battery(Node):
    text: Text


class Reads(Node):
    revision: Integer


ProductLine: TypeAlias = (
    "Code | Prefix | Revision | Hardware | About | Language | Wakes | First | Supply | Inside | Hot"
    " | Battery | Reads"
)


class Product(Node):
    name: Name
    label: Text
    lines: tuple[ProductLine, ...]


class Size(Node):
    count: Integer
    unit: Word | None


class Page(Node):
    count: Integer


class Endurance(Node):
    writes: Integer


class BrownOut(Node):
    level: Quantity


class Order(Node):
    value: Word


class Blank(Node):
    value: Integer


class HexAt(Node):
    address: Integer


class LeaveFirst(Node):
    count: Integer


class Reflected(Node):
    pass


class WrittenChecksum(Node):
    width: Integer
    poly: Integer
    start: Integer
    reflected: Reflected | None
    final: Integer
    check: Integer


class Checksum(Node):
    """A checksum by catalogue name (a Word) or written out."""

    algorithm: Word | WrittenChecksum


ChipLine: TypeAlias = (
    "Size | Page | Endurance | BrownOut | Order | Blank | HexAt | LeaveFirst | Checksum"
)


class Chip(Node):
    lines: tuple[ChipLine, ...]


class Copies(Node):
    count: Integer


class Serial(Node):
    characters: Integer


class Growth(Node):
    count: Integer


class IfLost(Node):
    answer: Word


class Saves(Node):
    per_day: Integer


class Slots(Node):
    count: Integer


class Spare(Node):
    count: Integer


class Names(Node):
    count: Integer


StorePart: TypeAlias = "Copies | Serial | Growth | IfLost | Saves | Slots | Spare | Names"


class Store(Node):
    """One kind of record, with what was said of it."""

    kind: Word
    parts: tuple[StorePart, ...]


class Holds(Node):
    stores: tuple[Store, ...]

class Part(Node):
    control: Control
    label: Text


class Positions(Node):
    count: Integer


class LinearLaw(Node):
    pass


class GeometricLaw(Node):
    pass


class AudioLaw(Node):
    share: Quantity


class SLaw(Node):
    share: Quantity


class Point(Node):
    clock: Clock
    value: Quantity


class PointsLaw(Node):
    points: tuple[Point, ...]


Law: TypeAlias = "LinearLaw | GeometricLaw | AudioLaw | SLaw | PointsLaw"


class Adc(Node):
    bits: Integer


class Ends(Node):
    first: Integer
    last: Integer


class Measured(Node):
    pass


class Noise(Node):
    counts: Integer


class Pot(Node):
    law: Law


class Turn(Node):
    angle: Quantity


class AfterRecall(Node):
    how: Word


class Learned(Node):
    pass


class Unplugged(Node):
    first: Integer
    last: Integer


ControlLine: TypeAlias = (
    "Adc | Ends | Measured | Noise | Pot | Turn | AfterRecall | Learned | Unplugged"
)


class Controls(Node):
    """Controls of one kind, which share what is said of them."""

    kind: Word
    more: tuple[Part | Positions | ControlLine, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        return tuple(node for node in self.more if isinstance(node, Part))

    @property
    def positions(self) -> Positions | None:
        return next((node for node in self.more if isinstance(node, Positions)), None)

    @property
    def lines(self) -> tuple[ControlLine, ...]:
        return tuple(node for node in self.more if not isinstance(node, Part | Positions))


class Panel(Node):
    controls: tuple[Controls, ...]
