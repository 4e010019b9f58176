"""Modes: what each control sets, and what gestures do."""

from __future__ import annotations

from dataclasses import field
from enum import Enum
from fractions import Fraction
from typing import TypeAlias

from paramc.frozen import dataclass
from paramc.model.items import Note
from paramc.text.source import Span


@dataclass(frozen=True, slots=True)
class Press:
    """A footswitch goes down."""

    control: str
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Hold:
    """One or two footswitches stay down for a time in seconds; at_power_up: from switching on."""

    controls: tuple[str, ...]
    seconds: Fraction
    at_power_up: bool = False
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Jumper:
    """A link on the board is closed."""

    jumper: str
    place: Span | None = field(default=None, compare=False, repr=False)


Gesture: TypeAlias = Press | Hold | Jumper


@dataclass(frozen=True, slots=True)
class Bypass:
    """Engage or bypass the whole unit."""


@dataclass(frozen=True, slots=True)
class Flip:
    """Turn a flag over."""

    flag: str


@dataclass(frozen=True, slots=True)
class NextPreset:
    """Call the preset after the one called last."""


@dataclass(frozen=True, slots=True)
class WhileHeld:
    """Do what a selector says for as long as the switch is down, at most a time in seconds."""

    item: str
    at_most: Fraction


class ResetScope(Enum):
    """What goes back to the factory values."""

    LOOK = "look"
    SLOT = "slot"


@dataclass(frozen=True, slots=True)
class Reset:
    """Bring the look or the current slot back to the factory values."""

    scope: ResetScope


@dataclass(frozen=True, slots=True)
class Learn:
    """Take a pedal's ends from where it is moved to."""

    pedal: str


Deed: TypeAlias = Bypass | Flip | NextPreset | WhileHeld | Reset | Learn


@dataclass(frozen=True, slots=True)
class Does:
    """A gesture and its deed. undoes_press: what the press did is given back. twice: asks again."""

    gesture: Gesture
    deed: Deed
    undoes_press: bool = False
    twice: bool = False
    place: Span | None = field(default=None, compare=False, repr=False)


class LampWord(Enum):
    """A lamp that does not blink."""

    OFF = "off"
    ON = "on"


@dataclass(frozen=True, slots=True)
class Shows:
    """What a lamp does in a mode: off, on, or blinks at a rate in Hz."""

    lamp: str
    state: LampWord | None
    blinks: Fraction | None
    label: str | None = None
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Sets:
    """A control and the item that it sets in a mode."""

    control: str
    item: str
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class ExpressionTargets:
    """A pedal and what it sets in a mode.

    items: one, or as many as the selector `chooser` has ways, in their order. heel, toe: the params in %
    that say which share of the item's travel the pedal gives there; None for 0 % and 100 %.
    """

    pedal: str
    items: tuple[str, ...]
    chooser: str | None = None
    heel: str | None = None
    toe: str | None = None
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Mode:
    """A layer of the panel. enter None: an open mode. leave: the gesture and the idle time in
    seconds that end it. expressions: what pedals set, as sets is for knobs, toggles and rotaries."""

    name: str
    label: str | None
    hidden: bool
    enter: Gesture | None
    leave: Gesture | None
    leave_after: Fraction | None
    shows: tuple[Shows, ...]
    sets: tuple[Sets, ...]
    does: tuple[Does, ...]
    notes: tuple[Note, ...] = ()
    expressions: tuple[ExpressionTargets, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def open(self) -> bool:
        """Whether the mode needs no gesture."""
        return self.enter is None

    @property
    def by_feet(self) -> bool:
        """Whether the mode is entered, and by nothing more than feet."""
        return isinstance(self.enter, Press | Hold)
