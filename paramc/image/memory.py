"""A whole memory read: what every place holds, what each number answers, and whose it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from paramc.frozen import dataclass
from paramc.image.factory import HARDWARE_UNSAID
from paramc.image.records import Reading, State, decode, field_of, newer, text_bytes
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout, Record


class Answer(Enum):
    """What one number (a preset's slot, or the only one of its kind) answers."""

    SOUND = "sound"
    OLDER = "older"
    NEWER = "newer"
    MISSING = "missing"  # no sound copy: the firmware plays factory values


class UnitAnswer(Enum):
    """What the whole unit answers, the gravest first."""

    FOREIGN = "foreign"  # identity of another product
    TRIAL = "trial"  # identity of another trial, or a trial's record in place of one that is missing
    NEWER = "newer"
    DAMAGED = "damaged"
    OLDER = "older"
    BLANK = "blank"  # every place is erased
    SOUND = "sound"


@dataclass(frozen=True, slots=True)
class Number:
    """A number and its newest copy; reading is None where it is missing."""

    number: int
    answer: Answer
    reading: Reading | None

    @property
    def values(self) -> tuple[int, ...] | None:
        """One value a field of its record; None unless there is a sound copy that could be read."""
        return (self.reading.values or None) if self.reading is not None else None


@dataclass(frozen=True, slots=True)
class Held:
    """What the places of one kind hold. places: one a place, by address; numbers: one a number."""

    record: Record
    places: tuple[Reading, ...]
    numbers: tuple[Number, ...]


@dataclass(frozen=True, slots=True)
class Identity:
    """An identity record, of whatever product and revision: it has one form, and nothing of the product
    in its cover, so a layout also reads that of a product which keeps it at the same place with the same
    checksum and length of serial.

    hardware: the place in its product's list, None where not said; serial: "" where there is none.
    """

    revision: int
    product_code: int
    hardware: int | None
    fingerprint: int
    trial: bool
    serial: str

    @property
    def build(self) -> str:
        """What made the unit: "a trial with fingerprint 89ABCDEF"."""
        return _build(self.trial, self.revision, self.fingerprint)


@dataclass(frozen=True, slots=True)
class Contents:
    """A memory as one layout reads it, kinds in the order of their regions. identity: None where no
    copy is sound; it is another product's where every sound copy is. at_hand: further revisions whose
    records could be read."""

    layout: Layout
    kinds: tuple[Held, ...]
    identity: Identity | None
    at_hand: tuple[Layout, ...] = ()

    def held(self, kind: Kind) -> Held | None:
        """What the places of a kind hold; None where the product has none."""
        return next((held for held in self.kinds if held.record.kind is kind), None)

    @property
    def made_by_layout(self) -> bool:
        """Whether identity says that the very build of the layout, or of one at hand, made the unit."""
        identity = self.identity
        return identity is not None and any(
            made_by(identity, layout) for layout in (self.layout, *self.at_hand)
        )

    @property
    def at_odds(self) -> bool:
        """Whether identity speaks against the layouts at hand: it is another product's or another trial's,
        or names another build under the revision of one of them. That it is of a revision which is not at
        hand says nothing: it tells what stamped the unit, and each record tells what saved it."""
        identity = self.identity
        if identity is None or self.made_by_layout:
            return False
        of_its_revision = any(
            one.revision_byte == identity.revision for one in (self.layout, *self.at_hand)
        )
        return identity.product_code != self.layout.product.code or identity.trial or of_its_revision

    @property
    def answer(self) -> UnitAnswer:
        """The gravest of what there is to say. Older counts look alone, because identity and bench
        keep the revision that they were written with."""
        identity = self.identity
        if any(
            place.state is State.FOREIGN and place.values for held in self.kinds for place in held.places
        ):
            return UnitAnswer.FOREIGN
        if identity is not None and identity.trial and not self.made_by_layout:
            return UnitAnswer.TRIAL
        if all(place.state is State.BLANK for held in self.kinds for place in held.places):
            return UnitAnswer.BLANK
        answers = {number.answer for held in self.kinds for number in held.numbers}
        stray = any(place.state is State.TRIAL for held in self.kinds for place in held.places)
        if stray and Answer.MISSING in answers:
            return UnitAnswer.TRIAL
        if Answer.NEWER in answers:
            return UnitAnswer.NEWER
        if Answer.MISSING in answers:
            return UnitAnswer.DAMAGED
        look = (held for held in self.kinds if held.record.kind in LOOK)
        older = any(number.answer is Answer.OLDER for held in look for number in held.numbers)
        return UnitAnswer.OLDER if older else UnitAnswer.SOUND


def read_memory(layout: Layout, memory: bytes, gaps: Sequence[range] = ()) -> Contents:
    """Every place of every kind read, and for each number its newest sound copy.

    memory: the whole of it. gaps: ranges of offsets that the dump did not give; a record that
    meets one is not read. Never raises on any bytes.
    """
    return contents_of(layout, [_held(layout, record, memory, gaps) for record in layout.records])


def contents_of(layout: Layout, kinds: Sequence[Held], at_hand: Sequence[Layout] = ()) -> Contents:
    """The contents that what was read of all kinds makes."""
    [held] = (held for held in kinds if held.record.kind is Kind.IDENTITY)
    # Another product's identity says whose memory it is, where no copy of our own does.
    foreign = newest(place for place in held.places if place.state is State.FOREIGN and place.values)
    reading = held.numbers[0].reading or foreign
    said = None if reading is None else identity_of(layout, reading)
    return Contents(layout, tuple(kinds), said, tuple(at_hand))


def build_of(layout: Layout) -> str:
    """How the build of a layout is called, as in Identity.build."""
    return _build(layout.trial, layout.revision_byte, layout.fingerprint)


def code_said(layout: Layout, memory: bytes) -> int:
    """The two bytes at the place of the product code in the first identity, unproved by any checksum."""
    record = layout.record(Kind.IDENTITY)
    assert record is not None
    start = record.places[0] + record.fields[field_of(record, FieldKind.PRODUCT_CODE)].bit // 8
    return int.from_bytes(memory[start : start + 2], "big")


def newest(readings: Iterable[Reading]) -> Reading | None:
    """The last written of sound copies of one number, the first of equals; None where there is none."""
    best: Reading | None = None
    for reading in readings:
        if best is None or _later(reading, best):
            best = reading
    return best


def _later(one: Reading, other: Reading) -> bool:
    # Revision 0 is a trial's, which stands beside the records that a release left: the counter decides.
    if one.revision and other.revision and one.revision != other.revision:
        return one.revision > other.revision
    return newer(one.counter, other.counter)


def identities(contents: Contents) -> list[tuple[Reading, str]]:
    """The sound copies of identity, and the serial in each."""
    held = contents.held(Kind.IDENTITY)
    assert held is not None
    sound = [place for place in held.places if place.state is State.SOUND]
    return [(place, identity_of(contents.layout, place).serial) for place in sound]


def made_by(identity: Identity, layout: Layout) -> bool:
    """Whether an identity names the very build of a layout."""
    return (identity.product_code, identity.revision, identity.trial, identity.fingerprint) == (
        layout.product.code,
        layout.revision_byte,
        layout.trial,
        layout.fingerprint,
    )


def _build(trial: bool, revision: int, fingerprint: int) -> str:
    return f"{'a trial' if trial else f'revision {revision}'} with fingerprint {fingerprint:08X}"


def _held(layout: Layout, record: Record, memory: bytes, gaps: Sequence[range]) -> Held:
    places = tuple(read_place(layout, record, address, memory, gaps) for address in record.places)
    return Held(record, places, tuple(number_of(number, places) for number in range(record.numbers)))


def read_place(
    layout: Layout, record: Record, address: int, memory: bytes, gaps: Sequence[range]
) -> Reading:
    """What a layout reads at the place of a record; UNREAD where the dump does not reach it."""
    end = address + record.length
    if end > len(memory) or any(gap.start < end and address < gap.stop for gap in gaps):
        return Reading(address, State.UNREAD, 0, 0, None, ())
    return decode(layout, record, address, memory[address : address + record.place_bytes])


def number_of(number: int, places: Sequence[Reading]) -> Number:
    """What a number answers, by the readings of its kind's places."""
    # A record of a later revision hides every other of its number: the unit was there already.
    copies = [place for place in places if place.number == number]
    for state, answer in (
        (State.NEWER, Answer.NEWER),
        (State.SOUND, Answer.SOUND),
        (State.OLDER, Answer.OLDER),
    ):
        reading = newest(place for place in copies if place.state is state)
        if reading is not None:
            return Number(number, answer, reading)
    return Number(number, Answer.MISSING, None)


def identity_of(layout: Layout, reading: Reading) -> Identity:
    """What a sound record of identity says, its own product's or another's."""
    record = layout.record(Kind.IDENTITY)
    assert record is not None
    said = {field.kind: value for field, value in zip(record.fields, reading.values, strict=True)}
    hardware = said[FieldKind.HARDWARE]
    serial = b""
    if FieldKind.SERIAL in said:
        field = record.fields[field_of(record, FieldKind.SERIAL)]
        serial = text_bytes(said[FieldKind.SERIAL], field, record.order)
    return Identity(
        revision=reading.revision,
        product_code=said[FieldKind.PRODUCT_CODE],
        hardware=None if hardware == HARDWARE_UNSAID else hardware,
        fingerprint=said[FieldKind.FINGERPRINT],
        trial=bool(said[FieldKind.TRIAL]),
        serial=serial.decode("ascii", "backslashreplace"),
    )
