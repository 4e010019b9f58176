"""The front panel: what a player can touch, and how the processor reads it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from typing import TypeAlias

from paramc.model.scale import Law, Straight
from paramc.text.source import Span

CLOCK_DEGREES = Fraction(300)
_LINEAR = Straight()


@dataclass(frozen=True, slots=True)
class Knob:
    """A potentiometer read by a converter.

    ends: the ADC counts fully anticlockwise and fully clockwise (falling: wired the other way
    round). measured: each unit has its own, in bench. noise: counts, peak. turn: degrees.
    """

    name: str
    label: str
    adc_bits: int
    ends: tuple[int, int]
    measured: bool = False
    noise: int = 0
    turn: Fraction = CLOCK_DEGREES
    law: Law = _LINEAR
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def top(self) -> int:
        """The highest reading of the converter."""
        return (1 << self.adc_bits) - 1

    @property
    def noon(self) -> int:
        """The scaled reading that counts as noon: half of the full scale, rounded up."""
        return 1 << (self.adc_bits - 1)


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


Control: TypeAlias = Knob | Switch | Footswitch | Lamp


def control_word(control: Control) -> str:
    """"knob", "toggle", "rotary", "footswitch" or "lamp", as the language and messages call it."""
    return control.kind.value if isinstance(control, Switch) else type(control).__name__.lower()


def travel_of_clock(minutes: int, turn: Fraction = CLOCK_DEGREES) -> Fraction:
    """The share of travel at a clock position in minutes past 12 (an hour is 30 degrees).

    Outside 0 to 1 where a knob of that turn cannot point there.
    """
    return Fraction(1, 2) + Fraction(minutes, 2) / turn
