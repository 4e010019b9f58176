"""A memory in which two revisions have saved, read, told of and made whole."""

from __future__ import annotations

import pytest

from paramc.image.account import account
from paramc.image.choose import Candidate, Chosen, choose
from paramc.image.convert import Fate
from paramc.image.factory import factory_values, put
from paramc.image.memory import Answer, UnitAnswer, read_memory
from paramc.image.reading import Flat
from paramc.image.records import State, encode
from paramc.image.restore import Restored, Wish, restore_contents
from paramc.image.revisions import read_revisions, saved_by
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from tests.stories import story

NAME = "long_causeway"


def layout(revision: int) -> Layout:
    return story(NAME)[revision - 1].layout


LAYOUTS = tuple(release.layout for release in story(NAME))


def write(
    memory: bytearray, of: Layout, kind: Kind, place: int, number: int, counter: int, **codes: int
) -> None:
    """A record as a revision's firmware saves it, the factory's but for some codes."""
    record = of.record(kind)
    assert record is not None
    factory = factory_values(of, record, number)
    values = [codes.get(field.name, value) for field, value in zip(record.fields, factory, strict=True)]
    put(memory, record.places[place], encode(of, record, record.places[place], counter, values))


def updated() -> bytes:
    """A unit that was made with revision 1, then updated to revision 3, and played with both."""
    memory = bytearray(stamp_image(layout(1), Unit("LC-000001", 0, (("loop_gain", 70),))))
    write(memory, layout(1), Kind.PRESETS, 3, 3, 7, time=100, modulation=2)
    write(memory, layout(3), Kind.PRESETS, 16, 5, 9, time=1100, mod_shape=1)
    write(memory, layout(3), Kind.SETUP, 1, 0, 2, taps_averaged=4)
    return bytes(memory)


def candidates(memory: bytes, *revisions: int) -> list[Candidate]:
    return [Candidate(f"r{one}", layout(one), Flat(memory, (), ())) for one in revisions]


def chosen(memory: bytes, *revisions: int, move_to: int | None = None) -> Chosen:
    found = choose(candidates(memory, *revisions), move_to)
    assert isinstance(found, Chosen), found
    return found


def preset(found: Chosen, number: int) -> dict[str, str]:
    said = account(found.contents, found.carried)
    return {value.item: value.value for value in said.presets[number - 1].values}


def test_the_revision_that_saved_last_is_the_units_own() -> None:
    memory = updated()
    assert saved_by(LAYOUTS, memory) == {1, 3}
    found = chosen(memory, 5, 3, 1, 2, 4)
    assert found.candidate.layout is layout(3)
    assert found.contents.answer is UnitAnswer.OLDER
    assert found.contents.identity is not None and found.contents.identity.revision == 1
    assert found.contents.made_by_layout


def test_each_record_is_read_by_its_own_revision() -> None:
    found = chosen(updated(), 1, 3)
    assert (preset(found, 4)["time"], preset(found, 4)["mod_shape"]) == ("120 ms", "drift")
    assert (preset(found, 6)["time"], preset(found, 6)["mod_shape"]) == ("1120 ms", "triangle")
    said = account(found.contents, found.carried)
    assert said.presets[3].answer is Answer.OLDER and said.presets[5].answer is Answer.SOUND
    assert {(one.kind, one.preset, one.revision) for one in said.carried} == {
        (Kind.BENCH, None, 1), (Kind.STATE, None, 1),
        *((Kind.PRESETS, number, 1) for number in range(1, 17) if number != 6),
    }  # fmt: skip


def test_a_newer_record_hides_an_older_one_of_its_number() -> None:
    memory = bytearray(updated())
    # The counter of the old one is higher; its revision is lower, so the player heard the other one last.
    write(memory, layout(1), Kind.PRESETS, 5, 5, 30, time=1)
    assert preset(chosen(bytes(memory), 1, 3), 6)["time"] == "1120 ms"


def test_without_its_release_a_record_cannot_be_read() -> None:
    found = chosen(updated(), 1, 2)
    assert found.candidate.layout is layout(1)
    said = account(found.contents, found.carried)
    assert said.answer is UnitAnswer.NEWER
    # Slot 6 has an older copy too, and what hides it cannot be read: nothing is guessed.
    assert said.presets[5].answer is Answer.NEWER and said.presets[5].values == ()
    answer = restore_contents(found.contents, updated(), Wish())
    assert isinstance(answer, tuple)
    assert "Preset 6 was saved by revision 3, which this layout cannot read" in " ".join(answer)


@pytest.mark.parametrize("revision", [1, 2, 3, 4, 5])
def test_it_is_made_whole_in_any_revision(revision: int) -> None:
    memory = updated()
    found = chosen(memory, 1, 2, 3, 4, 5, move_to=revision)
    answer = restore_contents(found.contents, memory, Wish())
    assert isinstance(answer, Restored)
    whole = read_memory(layout(revision), answer.image)
    assert whole.answer is UnitAnswer.SOUND and whole.made_by_layout
    sound = [place for held in whole.kinds for place in held.places if place.state is State.SOUND]
    assert {place.revision for place in sound} == {revision}
    said = account(whole)
    assert said.identity.serial == "LC-000001"
    assert said.bench is not None
    trims = {trim.item: (trim.code, trim.measured) for trim in said.bench.trims}
    assert trims["loop_gain"] == (70, True) and not trims["wet_level"][1]
    shapes = {"modulation": "loose"} if revision < 3 else {"mod_shape": "drift"}
    values = {value.item: value.value for value in said.presets[3].values}
    assert shapes.items() <= values.items()
    long = {value.item: value.value for value in said.presets[5].values}["time"]
    assert long == ("800 ms" if revision == 1 else "1120 ms")


def test_what_could_not_be_kept_is_listed() -> None:
    found = chosen(updated(), 1, 2, 3, 4, 5, move_to=1)
    lost = [
        (one.kind, one.number, value.item, value.was, value.now)
        for one in found.carried
        for value in one.values
        if value.fate is Fate.LOST
    ]
    assert lost == [(Kind.PRESETS, 5, "time", "1120 ms", "800 ms")]


def test_moving_down_uses_only_the_places_that_there_are() -> None:
    down = chosen(updated(), 1, 3, move_to=1)
    answer = restore_contents(down.contents, updated(), Wish())
    assert isinstance(answer, Restored)
    assert answer.carried == ()
    places = {place for record in layout(1).records for place in record.places}
    assert all(address in places for held in down.contents.kinds for address in held.record.places)


def test_a_revision_that_is_not_at_hand() -> None:
    assert choose(candidates(updated(), 1, 3), 9) == "No release of Long Causeway, revision 9, is at hand."


def test_a_unit_without_a_sound_identity_is_known_by_its_records() -> None:
    memory = bytearray(updated())
    identity = layout(1).record(Kind.IDENTITY)
    assert identity is not None
    for place in identity.places:
        memory[place + 3] ^= 0x55
    found = chosen(bytes(memory), 1, 2, 3, 4, 5)
    assert found.candidate.layout is layout(3) and found.known_by > 3
    assert preset(found, 4)["mod_shape"] == "drift"
    assert isinstance(restore_contents(found.contents, bytes(memory), Wish()), tuple)


def test_any_bytes_can_be_read() -> None:
    size = layout(1).product.chip.size
    for byte in (0x00, 0x01, 0x03, 0x55, 0xFF):
        read = read_revisions(layout(5), LAYOUTS, bytes([byte]) * size)
        assert read.carried == ()
    read_revisions(layout(5), LAYOUTS, b"", (range(size),))
