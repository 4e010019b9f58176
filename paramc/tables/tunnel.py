"""The tunnel that a rule must stay inside: the legal integers of every code."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from operator import le

from paramc.frozen import dataclass

MOST_CODES = 1 << 16
MOST = (1 << 32) - 1
"""The greatest integer of 32 bits; no bound is further from zero."""


@dataclass(frozen=True, slots=True)
class Tunnel:
    """The legal integers of code k are low[k] .. high[k], both included; 1 to 65536 codes.

    Bounds are -MOST .. MOST, so that a negated tunnel is one too. A tunnel that is empty at some code
    is the caller's mistake.
    """

    low: tuple[int, ...]
    high: tuple[int, ...]

    def __post_init__(self) -> None:
        assert 1 <= len(self.low) == len(self.high) <= MOST_CODES
        assert all(map(le, self.low, self.high))
        assert min(self.low) >= -MOST and max(self.high) <= MOST

    @classmethod
    def exactly(cls, values: Sequence[int]) -> Tunnel:
        """The tunnel with one legal integer a code."""
        return cls(tuple(values), tuple(values))

    @property
    def codes(self) -> int:
        """How many codes there are; the highest is one less."""
        return len(self.low)

    def holds(self, values: Sequence[int]) -> bool:
        """Whether these integers, one a code from code 0 on, are all legal."""
        return (
            len(values) == self.codes and all(map(le, self.low, values)) and all(map(le, values, self.high))
        )

    def negated(self) -> Tunnel:
        """The tunnel of the integers with their signs changed."""
        return Tunnel(tuple(-y for y in self.high), tuple(-y for y in self.low))

    def reflected(self) -> Tunnel:
        """The tunnel read from the last code to the first."""
        return Tunnel(self.low[::-1], self.high[::-1])

    def rising(self) -> Tunnel | None:
        """What a rule that never falls can reach of this tunnel; None where every rule falls somewhere.

        Such a rule is nowhere below an earlier low nor above a later high. Whatever stays inside both
        is all that is lost, and both bounds of the answer never fall.
        """
        low = tuple(accumulate(self.low, max))
        high = tuple(accumulate(reversed(self.high), min))[::-1]
        return Tunnel(low, high) if all(map(le, low, high)) else None

    def middle(self) -> tuple[int, ...]:
        """The integer in the middle of each code's, the lower of two; never falls where both bounds rise."""
        return tuple((low + high) >> 1 for low, high in zip(self.low, self.high, strict=True))


def steady(tunnel: Tunnel) -> Tunnel:
    """The part of a tunnel that a rule of one direction can reach, rising where both can be; the whole
    tunnel where neither can."""
    rising = tunnel.rising()
    if rising is not None:
        return rising
    falling = tunnel.negated().rising()
    return tunnel if falling is None else falling.negated()
