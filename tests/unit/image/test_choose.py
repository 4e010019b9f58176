"""Which layout a dump is read by: that of its own identity, and none by guessing."""

from __future__ import annotations

from dataclasses import replace

from paramc.image.choose import Candidate, Chosen, choose
from paramc.image.factory import factory_image
from paramc.image.files import Chunk
from paramc.image.memory import UnitAnswer
from paramc.image.reading import flatten
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from tests.unit.image.layouts import every_layout, example, record
from tests.unit.image.test_memory import Memory, released

PINCH = "teasel_pinch"


def candidates(dump: bytes, *layouts: Layout) -> list[Candidate]:
    """The dump against some layouts, as a raw file of it would be read."""
    return [
        Candidate(
            f"{at}.json",
            layout,
            flatten((Chunk(0, dump),), 0, layout.product.chip.size, layout.product.chip.blank),
        )
        for at, layout in enumerate(layouts)
    ]


def chosen(dump: bytes, *layouts: Layout) -> Chosen:
    answer = choose(candidates(dump, *layouts))
    assert isinstance(answer, Chosen), answer
    return answer


def refused(dump: bytes, *layouts: Layout) -> str:
    answer = choose(candidates(dump, *layouts))
    assert isinstance(answer, str)
    return answer


def test_each_product_is_known_among_all() -> None:
    for layout in every_layout():
        answer = chosen(stamp_image(layout, Unit("AB-1", 0)), *every_layout())
        assert answer.candidate.layout is layout
        assert (answer.known_by, answer.contents.answer) == (0, UnitAnswer.SOUND)


def test_the_build_that_made_the_unit_is_chosen_among_others_of_its_product() -> None:
    layout = example(PINCH)
    one, two, other = released(layout, 1), released(layout, 2), replace(layout, fingerprint=7)
    for mine in (layout, one, two, other):
        assert chosen(factory_image(mine), layout, one, two, other).candidate.layout == mine


def test_the_same_layout_twice_is_no_question_but_two_that_only_look_alike_are() -> None:
    layout = example(PINCH)
    assert chosen(factory_image(layout), layout, replace(layout)).candidate.name == "0.json"
    preset = replace(layout.product.presets[0], label="Another name")
    renamed = replace(layout.product, presets=(preset, *layout.product.presets[1:]))
    assert refused(factory_image(layout), layout, replace(layout, product=renamed)) == (
        "0.json and 1.json fit the dump alike and differ in what no record tells, such as factory presets:"
        " name the file that the unit was made from."
    )


def test_a_build_that_is_not_at_hand_is_named() -> None:
    layout = example(PINCH)
    old = replace(layout, fingerprint=0x01020304)
    number = f"{layout.fingerprint:08X}"
    assert refused(factory_image(old), layout, released(layout, 4)) == (
        "The unit is Teasel Pinch, 0x5450, made by a trial with fingerprint 01020304, and"
        f" 0.json is of a trial with fingerprint {number}; 1.json is of revision 4 with fingerprint {number}:"
        " the layout of that build is needed."
    )


def test_a_foreign_dump_is_refused_with_both_codes() -> None:
    layout = example(PINCH)
    foreign = replace(layout, product=replace(layout.product, code=0x1A2B))
    assert refused(factory_image(foreign), layout) == (
        "The dump is of product code 0x1A2B; the layouts at hand are of Teasel Pinch, 0x5450 (0.json)."
    )


def test_many_layouts_at_hand_are_told_by_product() -> None:
    layout = example(PINCH)
    foreign = replace(layout, product=replace(layout.product, code=0x1A2B))
    said = refused(factory_image(foreign), layout, example("hob_and_kiln"), released(layout, 4))
    assert said.endswith("are of Teasel Pinch, 0x5450 (0.json and 1 more), Hob & Kiln, 0x484B (1.json).")


def test_a_unit_whose_identity_is_lost_is_known_by_its_records() -> None:
    for layout in every_layout():
        memory = Memory(layout)
        for place in range(layout.product.holds.identity_copies):
            memory.spoil(Kind.IDENTITY, place, 3, 0x77)
        answer = chosen(bytes(memory.bytes), *every_layout())
        assert answer.candidate.layout is layout
        holds = layout.product.holds
        assert answer.known_by == holds.preset_slots + 3  # bench, setup, the presets, state


def test_two_records_are_not_enough() -> None:
    layout = example(PINCH)
    memory = Memory(layout)
    for one in layout.records:
        for place in range(len(one.places)):
            if (one.kind, place) not in ((Kind.STATE, 0), (Kind.PRESETS, 6)):
                memory.spoil(one.kind, place, 3, 0x77)
    assert refused(bytes(memory.bytes), layout) == (
        "No copy of identity in the dump is sound under a layout at hand, nor are enough other records"
        " (2 of the 3 that it takes), so whose it is cannot be known. Where its product code should stand it"
        " has 0x5477; the layouts at hand are of Teasel Pinch, 0x5450 (0.json)."
    )


def test_dumps_of_nothing() -> None:
    layout = example(PINCH)
    assert refused(b"\xff" * 256, layout) == "The dump is blank: every place of a record is erased."
    assert "gives no byte where a layout at hand has a record" in refused(b"\xff" * 4, layout)
    assert "0 of the 3" in refused(b"\x00" * 256, layout)
    assert "0 of the 3" in refused(bytes(range(256)), *every_layout())
    assert choose([]) == "There is no layout to read the dump by."


def test_a_dump_that_breaks_off_is_known_by_its_identity() -> None:
    layout = example(PINCH)
    cut = record(layout, Kind.PRESETS).places[1]
    answer = chosen(factory_image(layout)[:cut], *every_layout())
    assert answer.candidate.layout is layout
    assert answer.contents.answer is UnitAnswer.DAMAGED
