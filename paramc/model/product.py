"""The whole of a product: facts, memory, panel, items, modes, presets."""

from __future__ import annotations

from dataclasses import field
from enum import Enum
from fractions import Fraction

from paramc.frozen import dataclass
from paramc.model.history import Retired
from paramc.model.items import Flag, Item, Note, Param, Selector, Trim
from paramc.model.midi import Midi
from paramc.model.modes import ExpressionTargets, Mode, Sets
from paramc.model.panel import Control, Knob, Pedal
from paramc.model.promises import Promise
from paramc.model.tap import Tap
from paramc.numbers.crc import Algorithm
from paramc.text.source import Span


class Order(Enum):
    """Which end of a field comes first in a record."""

    LITTLE = "little"
    BIG = "big"


@dataclass(frozen=True, slots=True)
class Chip:
    """The memory. All sizes and addresses in bytes; blank: an erased byte; hex_at: where its
    address 0 stands in image files. brown_out: volts."""

    size: int
    page: int
    endurance: int
    order: Order = Order.LITTLE
    blank: int = 0xFF
    hex_at: int = 0
    leave_first: int = 4
    brown_out: Fraction | None = None
    checksum: Algorithm = field(kw_only=True)
    place: Span | None = field(default=None, compare=False, repr=False)


class IfLost(Enum):
    """What the unit does while a trim is lost."""

    MUTE = "mute"
    BYPASS = "bypass"
    PLAY = "play"


@dataclass(frozen=True, slots=True)
class Holds:
    """What the memory holds. copies: places; growth: spare bytes; saves: a day, 0 where none were said.

    setup_copies is 0 where nothing is kept once and no setup is asked for, bench_copies
    likewise. preset_names: bytes of a name, 0 for none. chosen: the kinds, in the order of the
    words here, whose copies, or spare of presets, the file leaves open; their number is the fewest
    there may be until the layout settles it.
    """

    identity_copies: int
    serial_characters: int
    bench_copies: int
    bench_growth: int
    if_lost: IfLost
    setup_copies: int
    setup_growth: int
    setup_saves: int
    preset_slots: int
    preset_spare: int
    preset_growth: int
    preset_names: int
    preset_saves: int
    state_copies: int
    state_growth: int
    state_saves: int
    chosen: tuple[str, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)


class Wakes(Enum):
    """How the unit starts."""

    BYPASSED = "bypassed"
    ENGAGED = "engaged"
    AS_IT_WAS = "as it was"


class Inside(Enum):
    """The highest voltage inside."""

    LOW = "low voltage"
    HIGH = "high voltage"
    MAINS = "mains"


@dataclass(frozen=True, slots=True)
class Supply:
    """What the supply must be, as a line for people and as numbers in volts and amperes."""

    volts: Fraction
    alternating: bool
    polarity: str
    amperes: Fraction
    text: str


@dataclass(frozen=True, slots=True)
class Preset:
    """A factory sound. codes: one for every item kept per preset, in their order."""

    number: int
    label: str
    codes: tuple[int, ...]
    like: int | None = None
    notes: tuple[Note, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Accept:
    """A mend that the maker accepts, with the reason. subject "": wherever the rule is met."""

    rule: str
    subject: str
    reason: str
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Product:
    """A whole product file, checked.

    wakes_from: a selector that says how the unit wakes, in place of wakes. items, modes and
    presets in reading order. reads_from: the earliest revision that the firmware still reads.
    hardware_places: the permanent place of each board revision, which is what units store; where they
    are not one each they count from 0.
    """

    name: str
    label: str
    code: int
    prefix: str
    revision: int
    hardware: tuple[str, ...]
    about: str | None
    language: str | None
    wakes: Wakes
    wakes_from: str | None
    first_preset: int
    supply: Supply | None
    inside: Inside | None
    hot: tuple[str, ...]
    battery: tuple[str, ...]
    chip: Chip
    holds: Holds
    panel: tuple[Control, ...]
    items: tuple[Item, ...]
    modes: tuple[Mode, ...]
    presets: tuple[Preset, ...]
    accepts: tuple[Accept, ...] = ()
    retired: tuple[Retired, ...] = ()
    reads_from: int = 1
    hardware_places: tuple[int, ...] = ()
    tap: Tap | None = None
    midi: Midi | None = None
    promises: tuple[Promise, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        if len(self.hardware_places) != len(self.hardware):
            object.__setattr__(self, "hardware_places", tuple(range(len(self.hardware))))

    @property
    def boards(self) -> dict[int, str]:
        """The board revisions that the image fits, by the place that units store."""
        return dict(zip(self.hardware_places, self.hardware, strict=True))

    @property
    def per_preset(self) -> tuple[Param | Selector | Flag, ...]:
        """Items kept with every preset, in reading order."""
        return tuple(item for item in self.items if not isinstance(item, Trim) and not item.kept_once)

    @property
    def kept_once(self) -> tuple[Param | Selector | Flag, ...]:
        """Items of the player that are kept once, in reading order."""
        return tuple(item for item in self.items if not isinstance(item, Trim) and item.kept_once)

    @property
    def trims(self) -> tuple[Trim, ...]:
        """Trims in reading order."""
        return tuple(item for item in self.items if isinstance(item, Trim))

    @property
    def pedals(self) -> tuple[Pedal, ...]:
        """Expression pedals in reading order."""
        return tuple(control for control in self.panel if isinstance(control, Pedal))

    @property
    def knobs(self) -> tuple[Knob, ...]:
        """Knobs in reading order."""
        return tuple(control for control in self.panel if isinstance(control, Knob))

    def item(self, name: str) -> Item:
        """The item of a name that is known to be there."""
        return next(item for item in self.items if item.name == name)

    def control(self, name: str) -> Control:
        """The control of a name that is known to be there."""
        return next(control for control in self.panel if control.name == name)

    def setters(self, item: str) -> tuple[tuple[Mode, Sets], ...]:
        """Where controls set an item, in reading order."""
        return tuple((mode, sets) for mode in self.modes for sets in mode.sets if sets.item == item)

    def knobs_that_set(self, item: str) -> tuple[Knob, ...]:
        """The knobs that set an item in some mode, each once, in the order of the modes."""
        knobs = {knob.name: knob for knob in self.knobs}
        names = dict.fromkeys(sets.control for _, sets in self.setters(item))
        return tuple(knobs[name] for name in names if name in knobs)

    def front_knobs(self, item: str) -> tuple[Knob, ...]:
        """The knobs that set an item in an open mode, in the order of the panel."""
        names = {sets.control for mode, sets in self.setters(item) if mode.open}
        return tuple(knob for knob in self.knobs if knob.name in names)

    def pedalled(self, item: str) -> tuple[tuple[Mode, ExpressionTargets], ...]:
        """Where pedals set an item, in reading order."""
        return tuple(
            (mode, targets) for mode in self.modes for targets in mode.expressions if item in targets.items
        )

    def is_hidden(self, item: str) -> bool:
        """Whether no open mode that is not hidden sets an item."""
        places = (*self.setters(item), *self.pedalled(item))
        return not any(mode.open and not mode.hidden for mode, _ in places)
