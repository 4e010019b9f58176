"""A memory read: what places hold, which copy counts, what a number and the unit answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from paramc.image.factory import factory_image, factory_values, put
from paramc.image.memory import Answer, Contents, Held, Identity, UnitAnswer, code_said, read_memory
from paramc.image.records import State, decode, encode
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout, Record
from tests.unit.image.layouts import NAMES, example, gravel_weir, record

PINCH = "teasel_pinch"


def released(layout: Layout, revision: int) -> Layout:
    """The same layout as a release of a revision has it."""
    return replace(layout, trial=False, product=replace(layout.product, revision=revision))


class Memory:
    """A new unit's memory, to be written in."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.bytes = bytearray(factory_image(layout))

    def write(self, kind: Kind, place: int, number: int = 0, counter: int = 1, **values: int) -> None:
        """A record with factory values but for those given, at the place of that index."""
        self.write_as(self.layout, kind, place, number, counter, **values)

    def write_as(
        self, layout: Layout, kind: Kind, place: int, number: int = 0, counter: int = 1, **values: int
    ) -> None:
        """The same, as another layout of the same places writes it."""
        found = record(layout, kind)
        put(
            self.bytes,
            found.places[place],
            encode(layout, found, found.places[place], counter, changed(layout, found, number, **values)),
        )

    def spoil(self, kind: Kind, place: int, offset: int, value: int) -> None:
        self.bytes[record(self.layout, kind).places[place] + offset] = value

    def erase(self, kind: Kind, place: int) -> None:
        found = record(self.layout, kind)
        blank = bytes((self.layout.product.chip.blank,))
        put(self.bytes, found.places[place], blank * found.place_bytes)

    def read(self, gaps: Sequence[range] = (), layout: Layout | None = None) -> Contents:
        return read_memory(layout or self.layout, bytes(self.bytes), gaps)


def changed(layout: Layout, found: Record, number: int = 0, **values: int) -> tuple[int, ...]:
    """Factory values of a record but for those given by the names of their fields."""
    factory = factory_values(layout, found, number)
    assert set(values) <= {field.name for field in found.fields}
    return tuple(
        values.get(field.name, value) for field, value in zip(found.fields, factory, strict=True)
    )


def held(contents: Contents, kind: Kind) -> Held:
    found = contents.held(kind)
    assert found is not None
    return found


def states(contents: Contents, kind: Kind) -> list[State]:
    return [place.state for place in held(contents, kind).places]


def value(contents: Contents, kind: Kind, field: str, number: int = 0) -> Any:
    """A field of a number as it is read; None unless sound."""
    found = held(contents, kind)
    values = found.numbers[number].values
    names = [one.name for one in found.record.fields]
    return None if values is None else values[names.index(field)]


@pytest.mark.parametrize("name", NAMES)
def test_a_new_memory_is_sound_and_as_the_factory_made_it(name: str) -> None:
    layout = example(name)
    contents = Memory(layout).read()
    assert contents.answer is UnitAnswer.SOUND
    for one in contents.kinds:
        for number in one.numbers:
            assert number.values == factory_values(layout, one.record, number.number)
    spare = [place.state for one in contents.kinds for place in one.places].count(State.BLANK)
    holds = layout.product.holds
    assert spare == holds.preset_spare + holds.setup_copies - 1 + holds.state_copies - 1


@pytest.mark.parametrize(
    ("counters", "newest"),
    [((1, 2), 1), ((2, 1), 0), ((255, 0), 1), ((0, 255), 0), ((200, 40), 1), ((40, 200), 0), ((100, 227), 1)],
)
def test_the_newest_sound_copy_counts_and_the_counter_wraps(counters: tuple[int, int], newest: int) -> None:
    memory = Memory(example(PINCH))
    for place, counter in enumerate(counters):
        memory.write(Kind.SETUP, place, counter=counter, dry_blend=10 + place)
        found = record(memory.layout, Kind.SETUP)
        assert memory.bytes[found.places[place] + 1] == counter  # these seal as they are
    assert value(memory.read(), Kind.SETUP, "dry_blend") == 10 + newest
    assert states(memory.read(), Kind.SETUP) == [State.SOUND, State.SOUND]


def test_a_spoilt_newest_copy_leaves_the_one_before() -> None:
    memory = Memory(example(PINCH))
    memory.write(Kind.PRESETS, 8, number=2, counter=2, attack=9)
    assert value(memory.read(), Kind.PRESETS, "attack", 2) == 9
    memory.spoil(Kind.PRESETS, 8, 3, memory.bytes[record(memory.layout, Kind.PRESETS).places[8] + 3] ^ 0x10)
    contents = memory.read()
    assert value(contents, Kind.PRESETS, "attack", 2) == factory_values(
        memory.layout, record(memory.layout, Kind.PRESETS), 2
    )[3]
    assert states(contents, Kind.PRESETS)[8] is State.DAMAGED
    assert contents.answer is UnitAnswer.SOUND


def test_a_copy_that_was_retired_is_told_from_one_that_is_damaged() -> None:
    memory = Memory(example(PINCH))
    length = record(memory.layout, Kind.PRESETS).length
    memory.spoil(Kind.PRESETS, 4, length - 2, 0xFF)
    memory.spoil(Kind.PRESETS, 4, length - 1, 0xFF)
    memory.spoil(Kind.PRESETS, 5, 1, 77)
    contents = memory.read()
    assert states(contents, Kind.PRESETS)[4:6] == [State.UNSEALED, State.DAMAGED]
    assert [held(contents, Kind.PRESETS).numbers[at].answer for at in (4, 5)] == [Answer.MISSING] * 2
    assert contents.answer is UnitAnswer.DAMAGED


def test_a_record_at_another_place_or_of_another_kind_is_not_sound() -> None:
    memory = Memory(example(PINCH))
    presets = record(memory.layout, Kind.PRESETS)
    first = memory.bytes[presets.places[0] : presets.places[0] + presets.length]
    put(memory.bytes, presets.places[8], bytes(first))
    assert states(memory.read(), Kind.PRESETS)[8] is State.DAMAGED


def test_a_number_that_no_slot_has_is_damaged() -> None:
    layout = gravel_weir()  # five slots, three bits
    presets = record(layout, Kind.PRESETS)
    blob = encode(layout, presets, presets.places[0], 1, changed(layout, presets, 0, slot=5))
    assert decode(layout, presets, presets.places[0], blob).state is State.DAMAGED
    blob = encode(layout, presets, presets.places[0], 1, changed(layout, presets, 0, slot=4))
    assert decode(layout, presets, presets.places[0], blob).number == 4


def test_places_that_the_dump_does_not_give_are_unread() -> None:
    memory = Memory(example(PINCH))
    state = record(memory.layout, Kind.STATE)
    contents = memory.read([range(state.places[0] + 3, state.places[0] + 4)])
    assert states(contents, Kind.STATE)[0] is State.UNREAD
    assert held(contents, Kind.STATE).numbers[0].answer is Answer.MISSING
    assert contents.answer is UnitAnswer.DAMAGED
    # A gap behind the last byte of a record touches nothing.
    behind = range(state.places[0] + state.length, state.places[0] + state.place_bytes)
    assert states(memory.read([behind]), Kind.STATE)[0] is State.SOUND
    short = read_memory(memory.layout, bytes(memory.bytes[: state.places[0] + 2]))
    assert states(short, Kind.STATE) == [State.UNREAD] * 4


@pytest.mark.parametrize("blank", [0xFF, 0x00])
def test_a_blank_memory_answers_blank_only_where_every_place_is(blank: int) -> None:
    memory = Memory(gravel_weir() if blank == 0 else example(PINCH))
    layout = memory.layout
    assert layout.product.chip.blank == blank
    for one in layout.records:
        for place in range(len(one.places)):
            memory.erase(one.kind, place)
    assert memory.read().answer is UnitAnswer.BLANK
    assert memory.read().identity is None
    memory.write(Kind.STATE, 1)
    assert memory.read().answer is UnitAnswer.DAMAGED


def test_older_and_newer_records_are_told_apart_by_number() -> None:
    two = released(example(PINCH), 2)
    memory = Memory(two)
    memory.write_as(released(two, 1), Kind.PRESETS, 3, number=3)
    assert memory.read().answer is UnitAnswer.OLDER
    assert held(memory.read(), Kind.PRESETS).numbers[3].answer is Answer.OLDER
    assert held(memory.read(), Kind.PRESETS).numbers[3].values is None
    # A sound copy of today hides the older one of its number; a newer one hides both.
    memory.write(Kind.PRESETS, 8, number=3, level=9)
    assert value(memory.read(), Kind.PRESETS, "level", 3) == 9
    memory.write_as(released(two, 3), Kind.PRESETS, 3, number=3)
    assert held(memory.read(), Kind.PRESETS).numbers[3].answer is Answer.NEWER
    assert memory.read().answer is UnitAnswer.NEWER


def test_identity_and_bench_keep_their_revision_without_counting_as_older() -> None:
    two = released(example(PINCH), 2)
    memory = Memory(two)
    for place in (0, 1):
        memory.write_as(released(two, 1), Kind.IDENTITY, place, hardware=0)
        memory.write_as(released(two, 1), Kind.BENCH, place)
    contents = memory.read()
    assert contents.answer is UnitAnswer.SOUND
    assert contents.identity == Identity(1, 0x5450, 0, two.fingerprint, False, "")
    assert not contents.made_by_layout


def test_identity_is_read_whatever_the_product() -> None:
    layout = example(PINCH)
    other = replace(layout, product=replace(layout.product, code=0x1111))
    memory = stamp_image(other, Unit("ZZ-9", 0))
    contents = read_memory(layout, memory)
    assert contents.identity == Identity(0, 0x1111, 0, layout.fingerprint, True, "ZZ-9")
    assert contents.answer is UnitAnswer.FOREIGN
    assert code_said(layout, memory) == 0x1111
    # Every other record has the product code in its checksum.
    others = [place.state for one in contents.kinds[1:] for place in one.places]
    assert State.SOUND not in others


def test_a_unit_of_another_trial_answers_trial() -> None:
    layout = example(PINCH)
    other = replace(layout, fingerprint=layout.fingerprint ^ 1)
    contents = read_memory(other, factory_image(layout))
    assert contents.answer is UnitAnswer.TRIAL
    assert read_memory(released(layout, 1), factory_image(layout)).answer is UnitAnswer.TRIAL
    assert not contents.made_by_layout


def test_a_serial_of_odd_bytes_is_read_without_a_fault() -> None:
    layout = example(PINCH)
    memory = Memory(layout)
    for place in (0, 1):
        memory.write(Kind.IDENTITY, place, serial=int.from_bytes(b"A\xff\x1b\x00Z".ljust(10, b"\0"), "big"))
    identity = memory.read().identity
    assert identity is not None and identity.serial == "A\\xff\x1b\x00Z"
