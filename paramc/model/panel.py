"""The front panel: what a player can touch, and how the processor reads it."""

from __future__ import annotations

from dataclasses import field
from enum import Enum
from fractions import Fraction
from typing import TypeAlias

from paramc.frozen import dataclass
from paramc.model.laws import HALF, Law, Straight, value_at
from paramc.numbers.arithmetic import REALS
from paramc.numbers.real import Real, add, floor, multiply
from paramc.text.source import Span

CLOCK_DEGREES = Fraction(300)
_LINEAR = Straight()


class Recall(Enum):
    """What a knob does when a preset has been called and its item holds another value than it points to."""

    LEAP = "leap"  # it acts at once
    MEET = "meet"  # it acts from when it passes the stored value
    CONVERGE = "converge"  # every turn draws the value nearer


@dataclass(frozen=True, slots=True)
class Knob:
    """A potentiometer read by a converter.

    ends: the ADC counts fully anticlockwise and fully clockwise (falling: wired the other way
    round). measured: each unit has its own, in bench. noise: counts, peak. turn: degrees.
    law: of the part itself, from 0 to 1, so never Geometric. recall: None where the file does not say; the
    knob then leaps.
    """

    name: str
    label: str
    adc_bits: int
    ends: tuple[int, int]
    measured: bool = False
    noise: int = 0
    turn: Fraction = CLOCK_DEGREES
    law: Law = _LINEAR
    recall: Recall | None = None
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def after_recall(self) -> Recall:
        """What it does after a preset call: as the file says, else it leaps."""
        return self.recall or Recall.LEAP

    @property
    def top(self) -> int:
        """The highest reading of the converter."""
        return (1 << self.adc_bits) - 1

    @property
    def noon(self) -> int:
        """The scaled reading that counts as noon, 2^(adc_bits - 1) of a linear part."""
        return self.reading_at(HALF)

    def reading_at(self, travel: Fraction) -> int:
        """The scaled reading nearest to what the part gives at a share of travel, the upper of two."""
        return floor(add(multiply(self.share_at(travel), Fraction(self.top)), HALF))

    def reading_of(self, count: int) -> int:
        """The scaled reading of an ADC count: nearest to its share of the way between the ends, the upper of
        two, and held between 0 and top."""
        first, last = self.ends
        share = Fraction(count - first, last - first)
        return min(max(floor(share * self.top + HALF), 0), self.top)

    def share_at(self, travel: Fraction) -> Real:
        """The share of its value end to end that the part gives at a share of travel."""
        return value_at(REALS, self.law, Fraction(0), Fraction(1))(travel)


@dataclass(frozen=True, slots=True)
class Pedal:
    """An expression pedal read by a converter.

    ends: the ADC counts at heel and toe. learned: each unit keeps its own in setup, written by the deed
    that learns them, and these are what it starts with. unplugged: the lowest and highest count that say
    that no pedal is there; then the knob of what it sets counts again. noise: counts, peak.
    """

    name: str
    label: str
    adc_bits: int
    ends: tuple[int, int]
    learned: bool = False
    unplugged: tuple[int, int] | None = None
    noise: int = 0
    law: Law = _LINEAR
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def top(self) -> int:
        """The highest reading of the converter."""
        return (1 << self.adc_bits) - 1


class SwitchKind(Enum):
    """A toggle has 2 or 3 positions, a rotary any number."""

    TOGGLE = "toggle"
    ROTARY = "rotary"


@dataclass(frozen=True, slots=True)
class Switch:
    """A toggle or rotary with its number of positions."""

    name: str
    label: str
    kind: SwitchKind
    positions: int
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Footswitch:
    """A momentary switch for the foot."""

    name: str
    label: str
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Lamp:
    """An indicator lamp."""

    name: str
    label: str
    place: Span | None = field(default=None, compare=False, repr=False)


Control: TypeAlias = Knob | Switch | Footswitch | Pedal | Lamp


def control_word(control: Control) -> str:
    """"knob", "toggle", "rotary", "footswitch", "pedal" or "lamp", as the language and messages call it."""
    return control.kind.value if isinstance(control, Switch) else type(control).__name__.lower()


def travel_of_clock(minutes: int, turn: Fraction = CLOCK_DEGREES) -> Fraction:
    """The share of travel at a clock position in minutes past 12 (an hour is 30 degrees).

    Outside 0 to 1 where a knob of that turn cannot point there.
    """
    return HALF + Fraction(minutes, 2) / turn
