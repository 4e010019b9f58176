"""Items: what is stored, and what each stored code means."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from typing import TypeAlias

from paramc.model.engine import AsStored, Engine, Legal, between
from paramc.model.scale import Scale
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import Real, add, compare, nearest, subtract
from paramc.numbers.units import Unit
from paramc.text.source import Span


class Signal(Enum):
    """The signal words of ANSI Z535 for notes about harm, and help for the rest."""

    DANGER = "danger"
    WARNING = "warning"
    CAUTION = "caution"
    NOTICE = "notice"
    HELP = "help"


@dataclass(frozen=True, slots=True)
class Note:
    """A text for people that stands beside an item, a mode or a preset."""

    signal: Signal
    text: str


class Role(Enum):
    """What a param does to the sound, where a caution or a rule depends on it."""

    DELAY_TIME = "delay time"
    LOOP_GAIN = "loop gain"
    LEVEL = "level"
    GAIN = "gain"
    THRESHOLD = "threshold"
    RESONANCE = "resonance"
    RATE = "rate"


@dataclass(frozen=True, slots=True)
class Param:
    """A value of the player. default: a code. kept_once: in setup, else with every preset."""

    name: str
    label: str
    scale: Scale
    default: int
    kept_once: bool = False
    role: Role | None = None
    limiter: str | None = None
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def codes(self) -> int:
        """How many codes are in use."""
        return self.scale.codes


@dataclass(frozen=True, slots=True)
class Way:
    """One choice of a selector. number: its quantity, where it has one."""

    name: str
    label: str
    number: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Selector:
    """A choice; the code of a way is its place in `ways`."""

    name: str
    label: str
    ways: tuple[Way, ...]
    default: int
    kept_once: bool = False
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def codes(self) -> int:
        """How many ways there are."""
        return len(self.ways)


@dataclass(frozen=True, slots=True)
class Flag:
    """On (code 1) or off (code 0)."""

    name: str
    label: str
    default: int
    kept_once: bool = False
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def codes(self) -> int:
        """Always two."""
        return 2


@dataclass(frozen=True, slots=True)
class Trim:
    """A value measured on one unit at the bench.

    nominal, safe: codes. plausible: lowest and highest value, in the range's unit.
    aim: what the probe should read. slope: change of the reading, in the aim's unit, for one
    unit of the trim.
    """

    name: str
    label: str
    scale: Scale
    nominal: int
    plausible: tuple[Fraction, Fraction] | None = None
    probe: str | None = None
    aim: Quantity | None = None
    slope: Fraction | None = None
    safe: int | None = None
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def codes(self) -> int:
        """How many codes are in use."""
        return self.scale.codes

    @property
    def default(self) -> int:
        """The nominal code: what a trim that was not measured plays as."""
        return self.nominal


Item: TypeAlias = Param | Selector | Flag | Trim
Scaled: TypeAlias = Param | Trim


def kind_word(item: Item) -> str:
    """"param", "selector", "flag" or "trim", as the language and messages call it."""
    return type(item).__name__.lower()


def is_off(item: Item, code: int) -> bool:
    """Whether a code of an item means off at the stop."""
    return isinstance(item, Param | Trim) and item.scale.off_at_stop and code == 0


def value_of(item: Item, code: int) -> Real:
    """The number that a code stands for: a scale's value, a way's number or a flag's 0 or 1.

    Not for a code that is off, nor for a way without a number.
    """
    match item:
        case Param() | Trim():
            return item.scale.value(code)
        case Selector():
            number = item.ways[code].number
            assert number is not None
            return number.number
        case Flag():
            return Fraction(code)


def unit_of(item: Item) -> Unit | None:
    """The unit that value_of counts in; None for flags and for selectors without numbers."""
    match item:
        case Param() | Trim():
            return item.scale.unit
        case Selector():
            number = item.ways[0].number
            return None if number is None else number.unit
        case Flag():
            return None


def engine_exact(item: Item, code: int) -> Real:
    """The unrounded engine value of a code. The item must have an engine."""
    engine = item.engine
    assert engine is not None
    if isinstance(engine.conversion, AsStored):
        return Fraction(code)
    if is_off(item, code):
        return Fraction(0)
    unit = unit_of(item)
    assert unit is not None
    return engine.exact(value_of(item, code), unit)


def engine_legal(item: Item, code: int) -> Legal:
    """The integers that keep the tolerance for a code, the format's limits aside.

    Without a tolerance only the correctly rounded integer is good. The tolerance is counted in
    the item's own value and stops at the ends of its range.
    """
    engine = item.engine
    assert engine is not None
    rounded = engine_rounded(item, code)
    if engine.tolerance is None or is_off(item, code) or isinstance(engine.conversion, AsStored):
        return Legal(rounded, rounded)
    unit = unit_of(item)
    assert unit is not None
    value = value_of(item, code)
    width = engine.tolerance.around(value)
    below, above = subtract(value, width), add(value, width)
    if isinstance(item, Param | Trim):
        low, high = item.scale.low, item.scale.high
        below = low if compare(below, low) < 0 else below
        above = high if compare(above, high) > 0 else above
    return between(engine.exact(below, unit), engine.exact(above, unit))


def engine_rounded(item: Item, code: int) -> int:
    """The correctly rounded engine value of a code, ties to even; it may overflow the format."""
    return nearest(engine_exact(item, code))
