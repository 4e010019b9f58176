"""Items: param, selector, flag, trim."""

from __future__ import annotations

from typing import TypeAlias

from paramc.syntax.node import Node
from paramc.syntax.nodes.literals import Expression, Integer, Name, Quantity, Ratio, Text, Value, Word
from paramc.syntax.nodes.memory import Law


class Range(Node):
    first: Quantity
    last: Quantity


class Step(Node):
    value: Quantity


class Coded(Node):
    bits: Integer


class Noon(Node):
    value: Quantity


class Taper(Node):
    law: Law


class Flat(Node):
    share: Quantity


class OffAtStop(Node):
    pass


class Earlier(Node):
    """Names of before."""

    names: tuple[Name, ...]


class Way(Node):
    name: Name
    was: Earlier | None
    label: Text
    number: Quantity | Ratio | None


class Default(Node):
    value: Value


class KeptOnce(Node):
    pass


class ActsAs(Node):
    role: Word


class Limiter(Node):
    text: Text


class Nominal(Node):
    value: Quantity


class Plausible(Node):
    first: Quantity
    last: Quantity


class Probe(Node):
    text: Text


class Aim(Node):
    value: Quantity


class Slope(Node):
    value: Quantity


class Safe(Node):
    value: Quantity


class WhereOne(Node):
    one: Integer
    value: Quantity


class AsGain(Node):
    pass


class AsSamples(Node):
    rate: Quantity


class AsPhase(Node):
    rate: Quantity


class AsPole(Node):
    rate: Quantity


class AsPitch(Node):
    pass


class AsDecay(Node):
    rate: Quantity


class ByExpression(Node):
    expression: Expression


Conversion: TypeAlias = (
    "WhereOne | AsGain | AsSamples | AsPhase | AsPole | AsPitch | AsDecay | ByExpression"
)


class OrNearest(Node):
    pass


class Within(Node):
    tolerance: Quantity
    or_nearest: OrNearest | None


class Engine(Node):
    format: Word
    conversion: Conversion | None
    within: Within | None


class PreferSpeed(Node):
    pass


class Became(Node):
    old: Name
    new: Name


class FormerlyBy(Node):
    selector: Name
    pairs: tuple[Became, ...]


class Since(Node):
    revision: Integer
    formerly: Value | FormerlyBy | None


class Was(Node):
    name: Name


class Narrowed(Node):
    pass


class Caution(Node):
    text: Text


class Warning(Node):
    text: Text


class Danger(Node):
    text: Text


class Help(Node):
    text: Text


WordLine: TypeAlias = "Caution | Warning | Danger | Help"

ItemLine: TypeAlias = (
    "Range | Step | Coded | Noon | Taper | Flat | OffAtStop | Way | Default | KeptOnce | ActsAs"
    " | Limiter | Nominal | Plausible | Probe | Aim | Slope | Safe | Engine | PreferSpeed | Since"
    " | Was | Narrowed | Caution | Warning | Danger | Help"
)


class Item(Node):
    """A param, selector, flag or trim: kind says which."""

    kind: Word
    name: Name
    label: Text
    lines: tuple[ItemLine, ...]
