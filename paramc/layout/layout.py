"""The layout: the whole meaning of a product's memory, which every output is made from.

FORMAT.md beside this file says every byte in words.
"""

from __future__ import annotations

from enum import Enum
from fractions import Fraction

from paramc.frozen import dataclass
from paramc.model.items import Signal
from paramc.model.product import Order, Product
from paramc.tables.choose import FormCost
from paramc.tables.forms import AnyTable

FORMAT = 1
"""The number of the layout file's form."""

HEAD_BYTES = 2
"""Revision and counter, before the bits of a record."""


class Kind(Enum):
    """The kinds of record, in the order of their regions."""

    IDENTITY = "identity"
    BENCH = "bench"
    SETUP = "setup"
    PRESETS = "presets"
    STATE = "state"


LOOK = (Kind.SETUP, Kind.PRESETS, Kind.STATE)
"""The player's kinds; identity and bench are written at the bench only."""


class FieldKind(Enum):
    """What a field holds."""

    SLOT = "slot"  # the preset's number less 1
    ITEM = "item"  # an item's code
    MEASURED = "measured"  # 1: the trim or pair of ends before it was measured on this unit
    END_LOW = "end low"  # the ADC count of a control fully anticlockwise
    END_HIGH = "end high"  # and fully clockwise
    NAME = "name"  # UTF-8 bytes, then zeros
    LAST_PRESET = "last preset"  # the number of the preset last called, less 1
    ENGAGED = "engaged"  # 1: engaged, 0: bypassed
    PRODUCT_CODE = "product code"
    HARDWARE = "hardware"  # place of the board revision in the product's list, FF: not said
    FINGERPRINT = "fingerprint"
    TRIAL = "trial"  # 1: made from a source that no release froze
    SERIAL = "serial"  # ASCII, all zeros: none


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a record.

    name: what it is of: an item, a control in lower case, or the kind of field itself.
    number: the permanent number of its item or measured control; None where the format fixes it.
    bit: where it begins, counted from the first bit of the record's byte 0. width: bits, 0 where
    there is only one code. codes: how many values are in use, 0 to codes - 1; 256 in a text, of
    each of its bytes.
    """

    name: str
    kind: FieldKind
    bit: int
    width: int
    codes: int
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """All records of one kind.

    places: addresses, ascending, each place_bytes long. numbers: how many different records
    the places are shared by (the preset slots; else 1). length: bytes of a record with head and
    checksum. growth: spare bytes before the checksum, zero. saves: a day, as the file says or else as
    is common; 0 for the bench's kinds.
    """

    kind: Kind
    places: tuple[int, ...]
    place_bytes: int
    numbers: int
    fields: tuple[Field, ...]
    growth: int
    length: int
    order: Order
    saves: int

    @property
    def end(self) -> int:
        """The address just past the last place."""
        return self.places[-1] + self.place_bytes

    @property
    def payload_bits(self) -> int:
        """The sum of the fields' widths."""
        return sum(field.width for field in self.fields)


@dataclass(frozen=True, slots=True)
class Proof:
    """How good a table is, and what it was chosen among.

    pieces: no rule made of straight pieces has fewer. worst: the greatest error of all codes and worst_at the
    first code that has it; of engine values as a share of what is allowed, to three places, and of a knob in
    codes. without: the codes that no good integer is there for, so that the nearest will do. costs: of each
    form that can do it, on processors where flash is short.
    """

    pieces: int
    worst: Fraction
    worst_at: int
    without: tuple[int, ...]
    costs: tuple[FormCost, ...]


@dataclass(frozen=True, slots=True)
class EngineTable:
    """How an item's engine value is computed from its code."""

    item: str
    table: AnyTable
    proof: Proof


@dataclass(frozen=True, slots=True)
class KnobTable:
    """How a knob's scaled reading n, 0 .. 2^adc_bits - 1, becomes a code of an item.

    controls: the knobs that share it. hysteresis: counts by which a reading must leave the codes
    around it before the last code is given up. name: what the C function is called after.
    """

    name: str
    item: str
    controls: tuple[str, ...]
    adc_bits: int
    hysteresis: int
    table: AnyTable
    proof: Proof


@dataclass(frozen=True, slots=True)
class SafetyText:
    """A text for people that no product can leave out.

    key: stable, for translations. text: without its signal word. about: the item, gesture or part
    it stands beside; "" for the whole product. where: the pages that show it.
    """

    key: str
    signal: Signal
    text: str
    about: str
    where: tuple[str, ...]

    @property
    def line(self) -> str:
        """The text as it is printed, its signal word first: "WARNING. Loud sound ..."."""
        return self.text if self.signal is Signal.HELP else f"{self.signal.value.upper()}. {self.text}"


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything that outputs, production and support need.

    trial: no release froze this source; records then carry revision 0 and a fingerprint in
    their cover. Fingerprints are 32-bit: of all kinds, of the look, of the bench.
    """

    format: int
    product: Product
    trial: bool
    fingerprint: int
    look_fingerprint: int
    bench_fingerprint: int
    records: tuple[Record, ...]
    engines: tuple[EngineTable, ...]
    knobs: tuple[KnobTable, ...]
    texts: tuple[SafetyText, ...]

    @property
    def revision_byte(self) -> int:
        """Byte 0 of every record: the revision, or 0 in a trial."""
        return 0 if self.trial else self.product.revision

    def record(self, kind: Kind) -> Record | None:
        """The records of a kind; None where the product has none."""
        return next((record for record in self.records if record.kind is kind), None)

    @property
    def look_start(self) -> int:
        """The first address of the player's region."""
        return min(record.places[0] for record in self.records if record.kind in LOOK)

    @property
    def end(self) -> int:
        """The address just past the last place of all."""
        return max(record.end for record in self.records)
