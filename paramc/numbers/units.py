"""The closed table of units: what may be written, what it measures, how it converts."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from paramc.frozen import dataclass


class Dimension(Enum):
    """What a unit measures; the value is the word for messages. Units convert only within one dimension."""

    TIME = "time"
    FREQUENCY = "frequency"
    LEVEL_DIFFERENCE = "level difference"
    LEVEL_DBU = "level in dBu"
    LEVEL_DBV = "level in dBV"
    SHARE = "share"
    VOLTAGE = "voltage"
    CURRENT = "current"
    RESISTANCE = "resistance"
    PITCH = "pitch"
    ANGLE = "angle"
    TEMPO = "tempo"
    RATIO = "ratio"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit in its canonical written form.

    `factor` times a number in this unit is the number in the base unit of the dimension:
    s, Hz, dB, dBu, dBV, %, V, A, ohm, cents, deg, BPM, `:1` and the plain number.
    """

    symbol: str
    dimension: Dimension
    factor: Fraction

    @property
    def singular(self) -> str:
        """The symbol beside exactly one: "cent" of "cents"; the symbol itself where it has no plural."""
        return self.symbol[:-1] if self.symbol in _PLURALS else self.symbol


_PLURALS: Final = frozenset({"cents", "semitones", "octaves", "taps", "counts", "bits"})

_MICRO: Final = Fraction(1, 1_000_000)
_MILLI: Final = Fraction(1, 1_000)
_ONE: Final = Fraction(1)
_KILO: Final = Fraction(1_000)
_MEGA: Final = Fraction(1_000_000)

NO_UNIT: Final = Unit("", Dimension.COUNT, _ONE)
DECIBEL: Final = Unit("dB", Dimension.LEVEL_DIFFERENCE, _ONE)
RATIO_TO_ONE: Final = Unit(":1", Dimension.RATIO, _ONE)

UNITS: Final[tuple[Unit, ...]] = (
    Unit("us", Dimension.TIME, _MICRO),
    Unit("ms", Dimension.TIME, _MILLI),
    Unit("s", Dimension.TIME, _ONE),
    Unit("Hz", Dimension.FREQUENCY, _ONE),
    Unit("kHz", Dimension.FREQUENCY, _KILO),
    DECIBEL,
    Unit("dBu", Dimension.LEVEL_DBU, _ONE),
    Unit("dBV", Dimension.LEVEL_DBV, _ONE),
    Unit("%", Dimension.SHARE, _ONE),
    Unit("uV", Dimension.VOLTAGE, _MICRO),
    Unit("mV", Dimension.VOLTAGE, _MILLI),
    Unit("V", Dimension.VOLTAGE, _ONE),
    Unit("mA", Dimension.CURRENT, _MILLI),
    Unit("A", Dimension.CURRENT, _ONE),
    Unit("ohm", Dimension.RESISTANCE, _ONE),
    Unit("kohm", Dimension.RESISTANCE, _KILO),
    Unit("Mohm", Dimension.RESISTANCE, _MEGA),
    Unit("cents", Dimension.PITCH, _ONE),
    Unit("semitones", Dimension.PITCH, Fraction(100)),
    Unit("octaves", Dimension.PITCH, Fraction(1200)),
    Unit("deg", Dimension.ANGLE, _ONE),
    Unit("BPM", Dimension.TEMPO, _ONE),
    RATIO_TO_ONE,
    Unit("x", Dimension.RATIO, _ONE),
    NO_UNIT,
    Unit("taps", Dimension.COUNT, _ONE),
    Unit("counts", Dimension.COUNT, _ONE),
    Unit("bits", Dimension.COUNT, _ONE),
    Unit("Q", Dimension.COUNT, _ONE),
)

# Unicode has the micro sign and the Greek letter mu, the ohm sign and the Greek omega; keyboards give either.
_ALSO: Final = {
    "us": ("\u00b5s", "\u03bcs"),
    "uV": ("\u00b5V", "\u03bcV"),
    "ohm": ("ohms", "\u03a9", "\u2126"),
    "kohm": ("kohms", "k\u03a9", "k\u2126"),
    "Mohm": ("Mohms", "M\u03a9", "M\u2126"),
}


def _spellings() -> dict[str, Unit]:
    spellings: dict[str, Unit] = {}
    for unit in UNITS:
        for spelling in (unit.symbol, unit.singular, *_ALSO.get(unit.symbol, ())):
            spellings[spelling] = unit
    return spellings


SPELLINGS: Final[Mapping[str, Unit]] = MappingProxyType(_spellings())
"""Every accepted spelling and its unit; a plain number is the empty spelling."""


def difference_unit(unit: Unit) -> Unit:
    """The unit of steps, widths, tolerances and slopes of items written in `unit`.

    Two levels against one reference differ by dB; everything else differs by its own unit.
    """
    if unit.dimension in (Dimension.LEVEL_DBU, Dimension.LEVEL_DBV):
        return DECIBEL
    return unit
