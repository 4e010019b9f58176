"""MIDI: which controllers set which items, and which programs call which presets."""

from __future__ import annotations

from dataclasses import field
from typing import Final

from paramc.frozen import dataclass
from paramc.text.source import Span

EVERY_CHANNEL: Final = 0
"""The channel, as a file or a setting says it, that stands for all of them."""

FINE_OFFSET: Final = 32
"""A fine controller's lower seven bits come on the controller so many numbers above it."""


@dataclass(frozen=True, slots=True)
class Cc:
    """A controller and the item that it sets. fine: 14 bits, the lower seven on number + 32."""

    number: int
    item: str
    fine: bool = False
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def numbers(self) -> tuple[int, ...]:
        """The controllers that it takes."""
        return (self.number, self.number + FINE_OFFSET) if self.fine else (self.number,)


@dataclass(frozen=True, slots=True)
class Program:
    """The program numbers that call presets, as they are printed: 1 to 128, sent as one less. The first
    calls preset 1, the next preset 2 and so on."""

    first: int
    last: int
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def presets(self) -> int:
        """How many presets can be called."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class Midi:
    """The MIDI map. channel: 1 to 16, or EVERY_CHANNEL; channel_from: the item whose value says so in place
    of it. ccs: in reading order. program: None where no program calls a preset."""

    channel: int
    channel_from: str | None = None
    ccs: tuple[Cc, ...] = ()
    program: Program | None = None
    place: Span | None = field(default=None, compare=False, repr=False)
