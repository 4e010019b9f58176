"""Literals and expressions."""

from __future__ import annotations

from fractions import Fraction
from typing import TypeAlias

from paramc.numbers.quantity import Quantity as Amount
from paramc.syntax.node import Node


class Name(Node):
    """A lower-case name."""

    text: str


class Control(Node):
    """An upper-case name: a part of the front panel."""

    text: str


class Text(Node):
    """A quoted text, escapes resolved; free of control and two-way marks but for line feeds."""

    value: str


class Word(Node):
    """A choice among keywords, as written: "loop gain", "as it was"."""

    text: str


class Integer(Node):
    """A whole number; hexadecimal says how it was written."""

    value: int
    hexadecimal: bool


class Quantity(Node):
    """A number and its unit."""

    amount: Amount


class Ratio(Node):
    """A plain fraction such as 3/4, as a way's number."""

    value: Fraction


class Clock(Node):
    """A clock position in minutes past 12, within plus or minus six hours: 7:00 is -300."""

    minutes: int


class AtClock(Node):
    clock: Clock


Value: TypeAlias = "Quantity | Name | AtClock"

class Number(Node):
    value: Fraction


class Negated(Node):
    value: Expression


class Sum(Node):
    """Terms with their signs: True is added, False taken away."""

    terms: tuple[tuple[bool, Expression], ...]


class Factors(Node):
    """A product: True multiplies, False divides."""

    factors: tuple[tuple[bool, Expression], ...]


class Power(Node):
    """The base, then exponents, taken from the right."""

    parts: tuple[Expression, ...]


class Call(Node):
    function: str
    arguments: tuple[Expression, ...]


Expression: TypeAlias = "Number | Name | Negated | Sum | Factors | Power | Call"
