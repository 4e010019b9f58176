"""Items: what is stored, and what each stored code means."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field
from enum import Enum
from fractions import Fraction
from typing import Final, TypeAlias, TypeVar

from paramc.frozen import dataclass
from paramc.model.answers import NoAnswer
from paramc.model.engine import AsStored, ByExpression, Engine, Legal, Tolerance, converter
from paramc.model.history import NO_HISTORY, History
from paramc.model.scale import Scale, code_value
from paramc.numbers.arithmetic import REALS, Arithmetic
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import Real, ceil, floor, nearest
from paramc.numbers.units import Unit
from paramc.text.source import Span

N = TypeVar("N")

NO_FLAT: Final = Fraction(0)


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
    """A value of the player. default: a code. kept_once: in setup, else with every preset.

    flat: the share of a knob's travel about noon that gives noon's value, 0 where none does.
    prefers_speed: its engine values take the fewest cycles, not the fewest bytes.
    """

    name: str
    label: str
    scale: Scale
    default: int
    kept_once: bool = False
    role: Role | None = None
    limiter: str | None = None
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    flat: Fraction = NO_FLAT
    history: History = NO_HISTORY
    prefers_speed: bool = False
    place: Span | None = field(default=None, compare=False, repr=False)

    @property
    def codes(self) -> int:
        """How many codes are in use."""
        return self.scale.codes


@dataclass(frozen=True, slots=True)
class Way:
    """One choice of a selector. number: its quantity, where it has one. was: names of earlier revisions
    whose part it took: its own, and those of ways that went."""

    name: str
    label: str
    number: Quantity | None = None
    was: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Selector:
    """A choice.

    places: the permanent place of each way, which is its code: one a way, ascending. Where they are not one
    a way they count from 0; a way that went in an earlier revision leaves a code that is not in use.
    """

    name: str
    label: str
    ways: tuple[Way, ...]
    default: int
    kept_once: bool = False
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    history: History = NO_HISTORY
    places: tuple[int, ...] = ()
    prefers_speed: bool = False
    place: Span | None = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        if len(self.places) != len(self.ways):
            object.__setattr__(self, "places", tuple(range(len(self.ways))))

    @property
    def codes(self) -> int:
        """One more than the highest code in use."""
        return max(self.places, default=-1) + 1

    def way(self, code: int) -> Way:
        """The way of a code; the default's for a code that is not in use."""
        return self.ways[self.places.index(code if code in self.places else self.default)]


@dataclass(frozen=True, slots=True)
class Flag:
    """On (code 1) or off (code 0)."""

    name: str
    label: str
    default: int
    kept_once: bool = False
    engine: Engine | None = None
    notes: tuple[Note, ...] = ()
    history: History = NO_HISTORY
    prefers_speed: bool = False
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
    history: History = NO_HISTORY
    prefers_speed: bool = False
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


def is_in_use(item: Item, code: int) -> bool:
    """Whether a code, 0 or above, means anything; one that does not plays as the default."""
    return code in item.places if isinstance(item, Selector) else code < item.codes


def vacant_codes(item: Item) -> tuple[int, ...]:
    """The codes of an item that ways left which went; all others below its last one are in use."""
    if not isinstance(item, Selector) or len(item.places) == item.codes:
        return ()
    return tuple(code for code in range(item.codes) if code not in item.places)


def is_off(item: Item, code: int) -> bool:
    """Whether a code of an item means off at the stop."""
    return isinstance(item, Param | Trim) and item.scale.off_at_stop and code == 0


def flat_of(item: Scaled) -> Fraction:
    """The share of a knob's travel about noon that gives noon's value; a trim has none."""
    return item.flat if isinstance(item, Param) else NO_FLAT


def value_of(item: Item, code: int) -> Real:
    """The number that a code stands for: a scale's value, a way's number or a flag's 0 or 1.

    Not for a code that is off, nor for a way without a number.
    """
    match item:
        case Param() | Trim():
            return item.scale.value(code)
        case Selector():
            number = item.way(code).number
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
    """The unrounded engine value of a code. The item must have an engine. NoAnswer where the conversion
    has none for the code's value."""
    return engine_numbers(REALS, item)(code)[2]


def engine_legal(item: Item, code: int) -> Legal:
    """The integers that keep the tolerance for a code, the format's limits aside.

    Without a tolerance only the correctly rounded integer is good. The tolerance is counted in
    the item's own value and stops at the ends of its range. NoAnswer as in engine_exact.
    """
    least, greatest, exact = engine_numbers(REALS, item)(code)
    if not is_tolerant(item, code):
        rounded = nearest(exact)
        return Legal(rounded, rounded)
    return Legal(ceil(least), floor(greatest))


def engine_rounded(item: Item, code: int) -> int:
    """The correctly rounded engine value of a code, ties to even; it may overflow the format."""
    return nearest(engine_exact(item, code))


def is_tolerant(item: Item, code: int) -> bool:
    """Whether the engine value of a code may be off by what the tolerance allows."""
    engine = item.engine
    assert engine is not None
    return (
        engine.tolerance is not None
        and not isinstance(engine.conversion, AsStored)
        and not is_off(item, code)
    )


def engine_numbers(of: Arithmetic[N], item: Item) -> Callable[[int], tuple[N, N, N]]:
    """For a code: the least and the greatest number that the tolerance allows, and the exact one.

    The tolerance allows what lies between the least and the greatest of the conversions of the value
    and of those that are the tolerance below and above it, brought into the range. Without a tolerance
    all three are the exact one. Where the conversion has no answer a tolerance away, that side is as
    the value itself; where it has none for the value, NoAnswer.
    """
    engine = item.engine
    assert engine is not None
    if isinstance(engine.conversion, AsStored):
        return lambda code: (of.ratio(code, 1),) * 3
    convert, value_of_code = converter(of, engine, unit_of(item)), _values(of, item)
    sides = None if engine.tolerance is None else _sides(of, item, engine.tolerance)
    # All other conversions go one way, so that the sides alone are the least and the greatest.
    turns = isinstance(engine.conversion, ByExpression)

    def numbers(code: int) -> tuple[N, N, N]:
        if is_off(item, code):
            return (of.ratio(0, 1),) * 3
        value = value_of_code(code)
        exact = convert(value)
        if sides is None:
            return exact, exact, exact
        one, other = (_converted(convert, side, exact) for side in sides(value))
        least, greatest = of.minimum(one, other), of.maximum(one, other)
        if turns:
            least, greatest = of.minimum(least, exact), of.maximum(greatest, exact)
        return least, greatest, exact

    return numbers


def _converted(convert: Callable[[N], N], value: N, otherwise: N) -> N:
    try:
        return convert(value)
    except NoAnswer:
        return otherwise


def _values(of: Arithmetic[N], item: Item) -> Callable[[int], N]:
    """value_of in any arithmetic."""
    if isinstance(item, Param | Trim):
        return code_value(of, item.scale)
    return lambda code: of.of(value_of(item, code))


def _sides(of: Arithmetic[N], item: Item, tolerance: Tolerance) -> Callable[[N], tuple[N, N]]:
    """The values a tolerance below and above a value, brought into the item's range."""
    amount, add, negate, minimum, maximum = (
        of.of(tolerance.amount), of.add, of.negate, of.minimum, of.maximum,
    )  # fmt: skip

    def around(value: N) -> tuple[N, N]:
        width = of.multiply(of.absolute(value), amount) if tolerance.relative else amount
        return add(value, negate(width)), add(value, width)

    if not isinstance(item, Param | Trim):
        return around
    low, high = of.of(item.scale.low), of.of(item.scale.high)

    def inside(value: N) -> tuple[N, N]:
        below, above = around(value)
        return maximum(below, low), minimum(above, high)

    return inside
