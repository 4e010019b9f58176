"""Promises: what a product keeps on every unit that its file can make."""

from __future__ import annotations

from dataclasses import field
from enum import Enum
from fractions import Fraction
from typing import TypeAlias

from paramc.frozen import dataclass
from paramc.model.expression import Expression
from paramc.text.source import Span


class PromiseScope(Enum):
    """Where a promise is kept."""

    AT_NOON = "at noon"
    IN_EVERY_PRESET = "in every preset"
    AT_POWER_UP = "at power up"
    AT_EVERY_POSITION = "at every position"


@dataclass(frozen=True, slots=True)
class OfItem:
    """The value of an item, in the unit that its range is written in."""

    item: str


@dataclass(frozen=True, slots=True)
class OfExpression:
    """What an expression makes of the values of the items that it names."""

    expression: Expression


Subject: TypeAlias = OfItem | OfExpression


@dataclass(frozen=True, slots=True)
class Promise:
    """The subject lies between low and high, each included and None where there is no such bound; at least
    one is there. Bounds are in the subject's unit. vary: the trims that are tried at both ends and nominal.
    """

    label: str
    scope: PromiseScope
    subject: Subject
    low: Fraction | None
    high: Fraction | None
    vary: tuple[str, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)
