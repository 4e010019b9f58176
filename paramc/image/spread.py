"""How the trims of a batch lie: their mean, their deviation, and which of them are near an end."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

from paramc.frozen import dataclass
from paramc.image.codes import quantity_text
from paramc.model.items import Trim
from paramc.model.scale import Stepped
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import to_text

NEAR: Final = Fraction(1, 10)
"""The share of what is plausible, at each end, in which a trim is said to be near it. Common practice: a
trim that lives there has little left for the next part that drifts."""

MOST_NAMED: Final = 8
"""Serials that are kept of those near an end."""

_DIGITS: Final = 12
_SHOWN: Final = 3
_WIDE: Final = Context(prec=30)


@dataclass(frozen=True, slots=True)
class Spread:
    """Of one trim: over how many measured units, their mean and sample deviation in the trim's unit
    (deviation None below two units), how many lie near an end, and the first of these by serial."""

    item: str
    units: int
    mean: str
    deviation: str | None
    near: int
    near_serials: tuple[str, ...]
    low: str
    high: str


class Gathering:
    """Takes one trim of unit after unit; it keeps sums, so that its size does not grow with the batch.

    On a grid of steps it counts in codes, which are whole numbers and mean the same: value = start + code x
    step.
    """

    def __init__(self, trim: Trim) -> None:
        self._trim = trim
        self._low, self._high = trim.plausible or (trim.scale.low, trim.scale.high)
        self._stepped = stepped = isinstance(trim.scale.grid, Stepped)
        self._start = trim.scale.first if stepped else Fraction(0)
        self._step = trim.scale.signed_step if stepped else Fraction(1)
        margin = NEAR * (self._high - self._low)
        low, high = sorted(
            (end - self._start) / self._step for end in (self._low + margin, self._high - margin)
        )
        self._inner = (math.ceil(low), math.floor(high)) if stepped else (low, high)
        self._units = 0
        self._sum: int | Fraction = 0
        self._squares: int | Fraction = 0
        self._near = 0
        self._named: list[str] = []

    def take(self, serial: str, code: int) -> None:
        """A measured code of a unit."""
        number = code if self._stepped else Fraction(to_text(self._trim.scale.value(code), _DIGITS))
        self._units += 1
        self._sum += number
        self._squares += number * number
        low, high = self._inner
        if not low <= number <= high:
            self._near += 1
            if len(self._named) < MOST_NAMED:
                self._named.append(serial)

    def spread(self) -> Spread | None:
        """What was gathered; None where nothing was."""
        if not self._units:
            return None
        unit = self._trim.scale.unit
        mean = Fraction(self._sum, self._units)
        deviation = None
        if self._units > 1:
            variance = self._step**2 * (self._squares - self._sum * mean) / (self._units - 1)
            root = _WIDE.sqrt(_decimal(variance))
            deviation = str(Quantity(_rounded(root, _SHOWN), unit))
        return Spread(
            item=self._trim.name,
            units=self._units,
            mean=str(Quantity(_rounded(_decimal(self._start + self._step * mean), _SHOWN + 1), unit)),
            deviation=deviation,
            near=self._near,
            near_serials=tuple(self._named),
            low=quantity_text(self._low, unit),
            high=quantity_text(self._high, unit),
        )


def gather(trims: Iterable[Trim]) -> dict[str, Gathering]:
    """One for each trim, by name."""
    return {trim.name: Gathering(trim) for trim in trims}


def _decimal(number: Fraction) -> Decimal:
    return _WIDE.divide(Decimal(number.numerator), Decimal(number.denominator))


def _rounded(number: Decimal, digits: int) -> Fraction:
    return Fraction(Context(prec=digits).plus(number))
