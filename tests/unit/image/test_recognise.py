"""Whose a dump is and where its memory stands in it: moved, doubled, mixed, of several revisions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from paramc.image.account import account_of
from paramc.image.choose import sound_records
from paramc.image.files import Chunk, Form
from paramc.image.memory import Answer, UnitAnswer, read_memory
from paramc.image.reading import Loaded
from paramc.image.recognise import AtHand, Recognised, recognise
from paramc.image.records import State
from paramc.image.shifts import shifts
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from paramc.text.source import Source
from tests.stories import story, text_of
from tests.understood import understand
from tests.unit.image.layouts import example, record
from tests.unit.image.test_memory import Memory

PINCH, KILN, CAUSEWAY = "teasel_pinch", "hob_and_kiln", "long_causeway"


def at_hand(*layouts: Layout) -> list[AtHand]:
    return [AtHand(f"{at}.json", layout, not layout.trial) for at, layout in enumerate(layouts)]


def raw(data: bytes) -> Loaded:
    return Loaded(Form.RAW, (Chunk(0, data),), ())


def seen(data: bytes | Loaded, layouts: Sequence[Layout], revision: int | None = None) -> Recognised:
    loaded = data if isinstance(data, Loaded) else raw(data)
    answer = recognise(loaded, at_hand(*layouts), revision)
    assert isinstance(answer, Recognised), answer
    return answer


def refused(data: bytes, layouts: Sequence[Layout]) -> str:
    answer = recognise(raw(data), at_hand(*layouts))
    assert isinstance(answer, str)
    return answer


def latest(name: str) -> Layout:
    return story(name)[-1].layout


def every_release() -> list[Layout]:
    return [one.layout for name in (PINCH, CAUSEWAY, KILN) for one in story(name)]


def following(name: str, revision: int) -> Layout:
    """A trial of a revision, made beside the releases before it."""
    text = text_of(name, revision)
    earlier = [one.layout for one in story(name)[: revision - 1]]
    answer = understand(Source(f"{name}.paramc", text), earlier)
    assert answer.value is not None
    return answer.value.layout


def without_identity(layout: Layout, memory: bytes) -> bytearray:
    spoilt = bytearray(memory)
    for place in record(layout, Kind.IDENTITY).places:
        spoilt[place + 3] ^= 0x5A
    return spoilt


@pytest.mark.parametrize("name", [PINCH, KILN, CAUSEWAY])
@pytest.mark.parametrize("by", [-4, -1, 1, 3, 40, 1000])
@pytest.mark.parametrize("known", [True, False])
def test_a_memory_that_stands_elsewhere_is_read_where_it_stands(name: str, by: int, known: bool) -> None:
    layout = latest(name)
    whole = stamp_image(layout, Unit("AB-1", 0))
    memory = bytes(whole if known else without_identity(layout, whole))
    found = seen(memory[-by:] if by < 0 else b"\x7f" * by + memory, every_release())
    assert (found.shift, found.chosen.candidate.layout) == (by, layout)
    assert found.chosen.known_by == (0 if known else layout.product.holds.preset_slots + 3)
    sound = [place.state is State.SOUND for held in found.chosen.contents.kinds for place in held.places]
    lost = 0 if known else len(record(layout, Kind.IDENTITY).places)
    holds = layout.product.holds
    spare = holds.preset_spare + holds.setup_copies - 1 + holds.state_copies - 1
    assert sum(sound) == len(sound) - spare - lost
    assert account_of(found).shift == by


def test_one_distance_holds_for_all_and_the_rest_is_only_told() -> None:
    """A byte that was read twice in the middle: what stands behind it is not mixed in."""
    layout = latest(PINCH)
    memory = stamp_image(layout, Unit("TP-1", 0))
    cut = record(layout, Kind.PRESETS).places[2]
    found = seen(memory[:cut] + memory[cut : cut + 1] + memory[cut:], [layout])
    assert found.shift == 0
    answers = [number.answer for held in found.chosen.contents.kinds for number in held.numbers]
    assert answers.count(Answer.SOUND) == 1 + 1 + 1 + 2  # identity, bench, setup, two presets
    assert found.elsewhere == (6 + 1, 1)


def test_two_records_at_one_distance_are_not_enough() -> None:
    layout = latest(PINCH)
    memory = without_identity(layout, stamp_image(layout, Unit("TP-1", 0)))
    kept = {record(layout, Kind.PRESETS).places[at] for at in (1, 5)}
    for one in layout.records:
        for place in one.places:
            if place not in kept:
                memory[place + 2] ^= 0x5A
    assert "cannot be known" in refused(b"\0" + memory, every_release())
    third = record(layout, Kind.PRESETS).places[6]
    memory[third + 2] ^= 0x5A
    assert seen(b"\0" + memory, every_release()).chosen.known_by == 3


def test_a_memory_that_stands_twice_where_it_should_not_is_read_only_if_both_are_alike() -> None:
    layout = latest(PINCH)
    memory = stamp_image(layout, Unit("TP-1", 0))
    assert seen(b"\0" * 5 + memory + memory, [layout]).shift == 5
    other = stamp_image(layout, Unit("TP-2", 0))
    assert "so which of them count cannot be known" in refused(b"\0" * 5 + memory + other, [layout])


@pytest.mark.parametrize("changed", [0, 1, 40])
def test_a_doubled_dump_is_read_once(changed: int) -> None:
    layout = latest(PINCH)
    memory = stamp_image(layout, Unit("TP-1", 0))
    other = bytearray(memory)
    for at in range(changed):
        other[100 + at] ^= 1
    found = seen(memory + other, [layout])
    assert (found.shift, found.again) == (0, changed)
    assert seen(memory + b"\x55" * len(memory), [layout]).again is None


def test_a_memory_at_another_address_in_a_file_with_addresses() -> None:
    layout = latest(CAUSEWAY)
    memory = stamp_image(layout, Unit("LC-1", 0))
    found = seen(Loaded(Form.HEX, (Chunk(0x810000, memory),), ()), every_release())
    assert (found.shift, found.chosen.contents.answer) == (0x810000, UnitAnswer.SOUND)


def test_records_of_another_product_are_foreign_and_named() -> None:
    pinch, kiln = latest(PINCH), latest(KILN)
    memory = bytearray(stamp_image(pinch, Unit("TP-1", 0)))
    memory[120:] = stamp_image(kiln, Unit("HK-1", 0))[120:256]
    found = seen(bytes(memory), every_release())
    assert found.chosen.candidate.layout is pinch
    foreign = {place.address: place.of for place in account_of(found).places if place.state is State.FOREIGN}
    assert foreign and set(foreign.values()) == {"Hob & Kiln"}
    assert all(place + record(pinch, Kind.PRESETS).length > 120 for place in foreign)
    alone = seen(bytes(memory), [pinch])
    assert alone.strays == ()
    assert {place.state for held in alone.chosen.contents.kinds for place in held.places} >= {State.DAMAGED}


def test_an_identity_of_another_product_beside_ones_own() -> None:
    pinch = latest(PINCH)
    memory = Memory(pinch)
    memory.bytes = bytearray(stamp_image(pinch, Unit("TP-1", 0)))
    memory.write_as(pinch, Kind.IDENTITY, 1, product_code=0x1234)
    found = seen(bytes(memory.bytes), every_release())
    identity = found.chosen.contents.identity
    assert identity is not None and identity.serial == "TP-1"
    # The firmware would not take it for its own, and neither is it silent here.
    assert found.chosen.contents.answer is UnitAnswer.FOREIGN
    assert [stray.of for stray in found.strays] == ["product code 0x1234"]


def test_as_much_of_one_product_as_of_another_is_nobodys() -> None:
    one = latest(PINCH)
    two = replace(one, product=replace(one.product, code=0x1234, label="Another"))
    memory = bytearray(stamp_image(one, Unit("TP-1", 0)))
    theirs = stamp_image(two, Unit("TP-2", 0))
    identity, presets = record(one, Kind.IDENTITY), record(one, Kind.PRESETS)
    for record_, place in [(identity, identity.places[1]), *((presets, at) for at in presets.places[:5])]:
        memory[place : place + record_.length] = theirs[place : place + record_.length]
    for kind in (Kind.BENCH, Kind.SETUP, Kind.STATE):
        for place in record(one, kind).places:
            memory[place + 2] ^= 0x5A
    assert _counts(memory, one, two) == (3, 5)
    assert seen(bytes(memory), [one, two]).chosen.candidate.layout is two
    memory[presets.places[0] + 2] ^= 0x5A
    memory[presets.places[1] + 2] ^= 0x5A
    assert _counts(memory, one, two) == (3, 3)
    assert refused(bytes(memory), [one, two]) == (
        "The dump is a mix: it has as much of Another as of Teasel Pinch, so whose it is cannot be known."
    )


def _counts(memory: bytes | bytearray, *layouts: Layout) -> tuple[int, ...]:
    return tuple(sound_records(read_memory(layout, bytes(memory))) for layout in layouts)


def test_the_release_that_stamped_a_unit_need_not_be_at_hand() -> None:
    layouts = [one.layout for one in story(CAUSEWAY)]
    memory = Memory(layouts[0])
    memory.bytes = bytearray(stamp_image(layouts[0], Unit("LC-1", 0)))
    memory.write_as(layouts[2], Kind.PRESETS, 16, number=4, counter=9)
    found = seen(bytes(memory.bytes), layouts[2:])
    said = account_of(found)
    assert (said.revision, said.missing, said.identity.serial) == (3, (1,), "LC-1")
    assert said.presets[4].answer is Answer.SOUND and said.presets[4].values
    assert said.presets[3].answer is Answer.OLDER and said.presets[3].values == ()
    assert said.bench is not None and said.bench.trims == ()
    assert {place.revision for place in said.places} == {1, 3, None}
    assert account_of(seen(bytes(memory.bytes), layouts)).missing == ()


def test_a_trial_reads_its_own_records_and_as_its_release_would_the_released_ones() -> None:
    """As the C does: revision 0 is covered with the fingerprint, every other one without."""
    trial, two = following(PINCH, 2), latest(PINCH)
    assert (trial.trial, trial.product.revision, two.product.revision) == (True, 2, 2)
    assert trial.fingerprint == two.fingerprint
    memory = Memory(two)
    memory.bytes = bytearray(stamp_image(two, Unit("TP-1", 0, (("vca_null", 140),))))
    alone = seen(bytes(memory.bytes), [trial])
    assert alone.chosen.candidate.layout is trial and alone.chosen.contents.answer is UnitAnswer.SOUND
    memory.write_as(trial, Kind.PRESETS, 8, number=2, counter=2, attack=700)
    tried = seen(bytes(memory.bytes), [*every_release(), trial])
    assert tried.chosen.candidate.layout is trial
    said = account_of(tried)
    assert {value.item: value.value for value in said.presets[2].values}["attack"] == "70.5 ms"
    # The release does not take the trial's record, but has its own of that number still.
    without = seen(bytes(memory.bytes), [two])
    assert without.chosen.contents.answer is UnitAnswer.SOUND
    states = [place.state for place in without.chosen.contents.kinds[3].places]
    assert states[8] is State.TRIAL
    memory.erase(Kind.PRESETS, 2)
    assert seen(bytes(memory.bytes), [two]).chosen.contents.answer is UnitAnswer.TRIAL
    # Asked for the release, the trial's record comes over.
    moved = seen(bytes(memory.bytes), [two, trial], 2)
    assert moved.chosen.candidate.layout is two
    assert {value.item: value.value for value in account_of(moved).presets[2].values}["attack"] == "70.5 ms"


def test_a_trial_of_another_meaning_does_not_stand_for_the_release_of_its_number() -> None:
    """One that was planned without the releases before it has its fields elsewhere."""
    trial, two = example(PINCH), latest(PINCH)
    assert trial.product.revision == 2 and trial.fingerprint != two.fingerprint
    memory = stamp_image(two, Unit("TP-1", 0))
    assert "made by revision 2 with fingerprint" in refused(memory, [trial])
    assert seen(memory, [trial, two]).chosen.candidate.layout is two


def test_no_dump_takes_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file in which every byte could begin a record costs a bounded number of checksums."""
    monkeypatch.setattr("paramc.image.shifts.MOST_SUMS", 500)
    layout = latest(CAUSEWAY)
    found = shifts(layout, {5}, (Chunk(0, b"\x05" * 100_000),), 0)
    assert all(not one.enough for one in found)
    assert "cannot be known" in refused(b"\x05" * 100_000, [layout])


@pytest.mark.parametrize("name", [PINCH, KILN, CAUSEWAY])
def test_shifts_finds_what_reading_place_by_place_finds(name: str) -> None:
    """Two roads: one checksum for all places, and each place read by itself."""
    layout = latest(name)
    memory = stamp_image(layout, Unit("AB-1", 0))
    [shift] = [one for one in shifts(layout, {layout.product.revision}, (Chunk(7, memory),), 0) if one.enough]
    read = seen(b"\0" * 7 + memory, [layout]).chosen.contents
    sound = sum(place.state is State.SOUND for held in read.kinds for place in held.places)
    copies = len(record(layout, Kind.IDENTITY).places)
    assert (shift.by, shift.identity, shift.records) == (7, True, sound - copies)
