"""Tap tempo: how taps of a footswitch become a time."""

from __future__ import annotations

from dataclasses import field
from enum import Enum
from fractions import Fraction

from paramc.frozen import dataclass
from paramc.text.source import Span


class Fold(Enum):
    """What becomes of a time above the range. One below it becomes the end of the range."""

    HALVE = "halve"  # halved until it fits
    STOP = "stop"  # the end of the range
    IGNORE = "ignore"  # the taps change nothing


@dataclass(frozen=True, slots=True)
class Tap:
    """A footswitch whose taps set a time: the mean of the last intervals times the chooser's number.

    chooser: the selector whose ways have the numbers, None for 1. taps: how many taps count at most, 2 or
    more, of which the intervals are one less; taps_from: the param that says so in place of it, and taps is
    then the most that it can say. gap: the longest interval, in seconds.
    """

    control: str
    item: str
    chooser: str | None
    taps: int
    taps_from: str | None
    gap: Fraction
    fold: Fold
    place: Span | None = field(default=None, compare=False, repr=False)
