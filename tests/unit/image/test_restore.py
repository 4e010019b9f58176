"""A restored image: what is carried over, kept, replaced and lost, and when none is made."""

from __future__ import annotations

from dataclasses import replace

import pytest

from paramc.image.account import Account, account
from paramc.image.documents import Document, NewPreset
from paramc.image.factory import factory_image, factory_values
from paramc.image.memory import UnitAnswer, read_memory
from paramc.image.records import State
from paramc.image.restore import Fate, Restored, restore_image
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from tests.unit.image.layouts import NAMES, example, gravel_weir, record
from tests.unit.image.test_memory import Memory, held, released, value

PINCH = "teasel_pinch"
UNIT = Unit("TP-000042", 0, (("vca_null", 140), ("unity_level", 38)))


def played() -> Memory:
    """A unit after some use: two presets saved over, one of them in the spare place, a setting changed."""
    memory = Memory(example(PINCH))
    memory.bytes = bytearray(stamp_image(memory.layout, UNIT))
    memory.erase(Kind.PRESETS, 2)
    memory.write(Kind.PRESETS, 8, number=2, counter=2, attack=700)
    memory.write(Kind.PRESETS, 5, number=5, counter=9, level=0)
    memory.erase(Kind.SETUP, 0)
    memory.write(Kind.SETUP, 1, counter=2, dry_blend=77, meter=2)
    memory.write(Kind.STATE, 2, counter=3, last_preset=5, engaged=1, ratio=3)
    return memory


def restored(memory: Memory, document: Document | None = None, *gaps: range) -> Restored:
    answer = restore_image(memory.layout, bytes(memory.bytes), document, gaps)
    assert isinstance(answer, Restored), answer
    assert len(answer.image) == memory.layout.product.chip.size
    assert read_memory(memory.layout, answer.image).answer is UnitAnswer.SOUND
    return answer


def refused(memory: Memory, layout: Layout | None = None) -> str:
    answer = restore_image(layout or memory.layout, bytes(memory.bytes), None)
    assert isinstance(answer, tuple)
    return "\n".join(answer)


def said(layout: Layout, memory: bytes) -> Account:
    return account(read_memory(layout, memory))


def span(layout: Layout, *kinds: Kind) -> slice:
    """The bytes of some kinds that stand one after another."""
    records = [record(layout, kind) for kind in kinds]
    return slice(records[0].places[0], records[-1].end)


@pytest.mark.parametrize("name", NAMES)
def test_a_new_unit_comes_back_byte_for_byte(name: str) -> None:
    layout = example(name)
    trims = tuple((trim.name, 1) for trim in layout.product.trims)
    memory = stamp_image(layout, Unit("AB-1", 0, trims))
    answer = restore_image(layout, memory, None)
    assert isinstance(answer, Restored)
    assert answer.image == memory
    assert set(answer.presets) == {Fate.KEPT}
    assert (answer.setup, answer.state, answer.carried, answer.unlike) == (Fate.KEPT, Fate.KEPT, (), ())


def test_everything_sound_is_kept_and_laid_out_afresh() -> None:
    memory = played()
    answer = restored(memory)
    before, after = said(memory.layout, bytes(memory.bytes)), said(memory.layout, answer.image)
    assert replace(after, places=()) == replace(before, places=())
    assert set(answer.presets) == {Fate.KEPT}
    owner = span(memory.layout, Kind.IDENTITY, Kind.BENCH)
    assert answer.image[owner] == bytes(memory.bytes[owner])
    contents = read_memory(memory.layout, answer.image)
    for kind, count in ((Kind.SETUP, 1), (Kind.PRESETS, 8), (Kind.STATE, 1)):
        states = [place.state for place in held(contents, kind).places]
        assert states == [State.SOUND] * count + [State.BLANK] * (len(states) - count)


def test_what_is_lost_is_as_the_factory_makes_it() -> None:
    memory = played()
    memory.spoil(Kind.PRESETS, 8, 4, 0x5A)
    memory.spoil(Kind.SETUP, 1, 3, 0x5A)
    for place in (0, 1, 2, 3):
        memory.spoil(Kind.STATE, place, 2, 0x5A)
    answer = restored(memory)
    assert answer.presets == (Fate.KEPT, Fate.KEPT, Fate.FACTORY, *[Fate.KEPT] * 5)
    assert (answer.setup, answer.state) == (Fate.FACTORY, Fate.FACTORY)
    contents = read_memory(memory.layout, answer.image)
    for kind, number in ((Kind.PRESETS, 2), (Kind.SETUP, 0), (Kind.STATE, 0)):
        factory = factory_values(memory.layout, record(memory.layout, kind), number)
        assert held(contents, kind).numbers[number].values == factory
    assert value(contents, Kind.PRESETS, "level", 5) == 0


def test_a_document_replaces_its_slots_and_settings_and_nothing_else() -> None:
    memory = played()
    codes = (0, 1, 2, 3, 4, 0)
    document = Document((NewPreset(5, None, codes, frozenset()),), (("dry_blend", 5),), ())
    answer = restored(memory, document)
    assert answer.presets == (*[Fate.KEPT] * 5, Fate.REPLACED, Fate.KEPT, Fate.KEPT)
    assert (answer.setup, answer.state) == (Fate.REPLACED, Fate.KEPT)
    before, after = said(memory.layout, bytes(memory.bytes)), said(memory.layout, answer.image)
    assert tuple(value.code for value in after.presets[5].values) == codes
    for at in (0, 1, 2, 3, 4, 6, 7):
        assert after.presets[at] == before.presets[at]
    assert after.setup is not None and before.setup is not None
    assert {one.item for one in after.setup.values if one.code != 5} == {
        one.item for one in before.setup.values if one.item != "dry_blend"
    }
    assert {one.item: one.code for one in after.setup.values}["meter"] == 2
    assert (after.state, after.bench, after.identity) == (before.state, before.bench, before.identity)


def test_a_setting_is_put_into_a_setup_that_was_lost() -> None:
    memory = played()
    memory.spoil(Kind.SETUP, 1, 3, 0x5A)
    answer = restored(memory, Document((), (("knee", 12),), ()))
    assert answer.setup is Fate.REPLACED
    contents = read_memory(memory.layout, answer.image)
    assert value(contents, Kind.SETUP, "knee") == 12
    assert value(contents, Kind.SETUP, "dry_blend") == 0
    assert restored(memory, Document((), (), ())).setup is Fate.FACTORY


def test_names_go_over_and_a_new_slot_has_its_own_or_none() -> None:
    layout = gravel_weir()
    memory = Memory(layout)
    memory.bytes = bytearray(stamp_image(layout, Unit("W1", 2)))
    codes = (1, 2, 3, 0, 1)
    document = Document(
        (NewPreset(0, "\u00dcber", codes, frozenset()), NewPreset(3, None, codes, frozenset())), (), ()
    )
    names = [preset.name for preset in said(layout, restored(memory, document).image).presets]
    assert names == ["\u00dcber", "\u00dcbergang", "", "", ""]


def test_one_sound_copy_of_identity_and_bench_is_written_to_all_places() -> None:
    memory = played()
    memory.spoil(Kind.IDENTITY, 0, 4, 0x5A)
    memory.spoil(Kind.BENCH, 1, 4, 0x5A)
    answer = restored(memory)
    assert answer.unlike == ()
    after = said(memory.layout, answer.image)
    assert after.identity.serial == "TP-000042"
    assert after.bench is not None
    trims = {trim.item: (trim.code, trim.measured) for trim in after.bench.trims}
    assert trims == {"vca_null": (140, True), "detector_gain": (30, False), "unity_level": (38, True)}
    contents = read_memory(memory.layout, answer.image)
    for kind in (Kind.IDENTITY, Kind.BENCH):
        copies = {place.values for place in held(contents, kind).places}
        assert copies == {held(contents, kind).numbers[0].values}


def test_copies_that_differ_are_told_and_the_newest_is_taken() -> None:
    memory = played()
    memory.write(Kind.BENCH, 0, counter=5, vca_null=99, vca_null_measured=1)
    answer = restored(memory)
    assert answer.unlike == (Kind.BENCH,)
    contents = read_memory(memory.layout, answer.image)
    assert value(contents, Kind.BENCH, "vca_null") == 99
    assert len({place.values for place in held(contents, Kind.BENCH).places}) == 1


def test_codes_out_of_use_go_over_as_they_are() -> None:
    memory = played()
    memory.write(Kind.PRESETS, 0, number=0, counter=2, ratio=255)
    assert value(read_memory(memory.layout, restored(memory).image), Kind.PRESETS, "ratio") == 255


def test_bytes_outside_all_records_are_as_in_the_dump() -> None:
    memory = played()
    memory.bytes[1:3] = b"\x12\x34"
    memory.bytes[255] = 0
    answer = restored(memory)
    assert answer.carried == (range(1, 3), range(255, 256))
    assert (answer.image[1:3], answer.image[255]) == (b"\x12\x34", 0)


def test_a_dump_that_breaks_off_gives_what_it_reaches() -> None:
    memory = played()
    cut = record(memory.layout, Kind.PRESETS).places[4]
    memory.bytes[cut:] = bytes((0xFF,)) * (len(memory.bytes) - cut)
    answer = restored(memory, None, range(cut, len(memory.bytes)))
    # Preset 3 stood in the last place, behind the break.
    assert answer.presets == (*[Fate.KEPT] * 2, Fate.FACTORY, Fate.KEPT, *[Fate.FACTORY] * 4)
    assert answer.state is Fate.FACTORY


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (Kind.IDENTITY, "No copy of identity in the dump is sound, so whose serial and board this is"),
        (Kind.BENCH, "No copy of the trims in the dump is sound, and trims cannot be made up: it needs"),
    ],
)
def test_nothing_of_the_bench_is_made_up(kind: Kind, words: str) -> None:
    memory = played()
    for place in (0, 1):
        memory.spoil(kind, place, 3, 0x5A)
    assert words in refused(memory)
    assert "the bench." in refused(memory)


def test_another_product_or_build_is_refused_with_both_named() -> None:
    memory = played()
    layout = memory.layout
    other = replace(layout, product=replace(layout.product, code=0x1111))
    assert refused(memory, other) == (
        "The dump is of product code 0x5450, and the layout is of Teasel Pinch, 0x1111."
    )
    trial = f"a trial with fingerprint {layout.fingerprint:08X}"
    for changed, build in (
        (replace(layout, fingerprint=0x12345678), "a trial with fingerprint 12345678"),
        (released(layout, 3), f"revision 3 with fingerprint {layout.fingerprint:08X}"),
    ):
        assert refused(memory, changed) == (
            f"The unit was made by {trial}, and the layout is of {build}: the layout of that build is needed."
        )


def test_records_of_another_revision_are_not_thrown_away() -> None:
    two = released(example(PINCH), 2)
    memory = Memory(two)
    memory.write_as(released(two, 3), Kind.PRESETS, 8, number=3)
    memory.write_as(released(two, 1), Kind.SETUP, 0)
    needed = "which this layout cannot read: the release of that revision is needed."
    assert refused(memory) == (
        f"Setup was saved by revision 1, {needed}\nPreset 4 was saved by revision 3, {needed}"
    )


def test_a_product_without_bench_needs_none() -> None:
    layout = gravel_weir()
    bare = replace(layout, records=tuple(one for one in layout.records if one.kind is not Kind.BENCH))
    answer = restore_image(bare, factory_image(bare), None)
    assert isinstance(answer, Restored) and answer.image == factory_image(bare)
