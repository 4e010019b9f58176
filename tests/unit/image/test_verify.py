"""What verify says of a memory: every bit of identity, bench and presets, and what setup and state mean."""

from __future__ import annotations

import pytest

from paramc.image.factory import factory_values, put
from paramc.image.memory import read_memory
from paramc.image.records import encode
from paramc.image.stamp import Unit, stamp_image
from paramc.image.verify import BY_BYTES, compared, differences, unit_in
from paramc.layout.layout import Kind, Layout
from tests.unit.image.layouts import example, record, released

PRODUCTS = ("teasel_pinch", "gravel_weir")
UNITS = {
    "teasel_pinch": Unit("TP-1", 0, (("vca_null", 125), ("unity_level", 43))),
    "gravel_weir": Unit("W1", 2, (("bias", 40),)),
}


def layout_of(name: str) -> Layout:
    return released(name).layout


@pytest.mark.parametrize("name", PRODUCTS)
def test_a_unit_as_it_was_meant(name: str) -> None:
    layout, unit = layout_of(name), UNITS[name]
    memory = stamp_image(layout, unit)
    assert differences(layout, unit, memory) == ()
    assert unit_in(layout, read_memory(layout, memory)) == unit


@pytest.mark.parametrize("name", PRODUCTS)
def test_every_bit_of_what_is_held_byte_for_byte_is_told_in_its_place(name: str) -> None:
    layout = layout_of(name)
    meant = stamp_image(layout, UNITS[name])
    for one in layout.records:
        for address in one.places:
            for at in range(address, address + one.place_bytes):
                memory = bytearray(meant)
                memory[at] ^= 0x10
                found = compared(layout, meant, bytes(memory))
                if one.kind in BY_BYTES:
                    assert found and {(each.kind, each.address) for each in found} == {
                        (one.kind.value, address)
                    }


def test_the_field_is_named_with_what_was_meant_and_what_was_found() -> None:
    layout = layout_of("teasel_pinch")
    meant = stamp_image(layout, UNITS["teasel_pinch"])
    found = stamp_image(layout, Unit("TP-1", 0, (("vca_null", 126),)))
    told = {(each.field, each.meant, each.found) for each in compared(layout, meant, found)}
    assert {
        ("vca_null", "-3", "-2"),
        ("unity_level", "0.15 dB", "0 dB"),
        ("unity_level_measured", "measured", "nominal"),
    } <= told
    first = compared(layout, meant, found)[0]
    assert first.sentence == f"In bench at 0x{first.address:04X}, vca_null is -2, and -3 was meant."


@pytest.mark.parametrize("kind", [Kind.SETUP, Kind.STATE])
def test_setup_and_state_are_held_by_their_meaning(kind: Kind) -> None:
    layout = layout_of("gravel_weir")
    meant = stamp_image(layout, UNITS["gravel_weir"])
    memory = bytearray(meant)
    one = record(layout, kind)
    values = list(factory_values(layout, one))
    # The unit has written the same elsewhere and broken the seal of the first, as a save does.
    put(memory, one.places[1], encode(layout, one, one.places[1], 9, values))
    memory[one.places[0] + one.length - 1] = 0xFF
    assert compared(layout, meant, bytes(memory)) == ()
    values[-1] ^= 1
    put(memory, one.places[1], encode(layout, one, one.places[1], 10, values))
    [told] = compared(layout, meant, bytes(memory))
    assert (told.kind, told.field, told.address) == (kind.value, one.fields[-1].name, None)
    memory[one.places[1] + 1] ^= 1
    [told] = compared(layout, meant, bytes(memory))
    assert (told.field, told.meant, told.found) == ("the record", "sound", "missing")


def test_what_the_dump_does_not_give_is_not_taken_for_right() -> None:
    layout = layout_of("teasel_pinch")
    meant = stamp_image(layout, UNITS["teasel_pinch"])
    place = record(layout, Kind.PRESETS).places[0]
    [told] = compared(layout, meant, meant, [range(place + 3, place + 4)])
    assert (told.field, told.found, told.preset) == ("the place", "not in the dump", 1)


def test_a_blank_place_and_a_written_spare_are_told_as_such() -> None:
    layout = layout_of("gravel_weir")
    meant = stamp_image(layout, UNITS["gravel_weir"])
    presets = record(layout, Kind.PRESETS)
    memory = bytearray(meant)
    size = presets.place_bytes
    memory[presets.places[5] : presets.places[5] + size] = meant[presets.places[0] :][:size]
    memory[presets.places[0] : presets.places[0] + size] = bytes(size)
    blank, spare = compared(layout, meant, bytes(memory))
    assert (blank.preset, blank.meant, blank.found) == (1, "written", "blank")
    assert (spare.preset, spare.meant, spare.found) == (None, "blank", "written")


def test_units_that_cannot_have_been_stamped() -> None:
    layout = layout_of("teasel_pinch")

    def said(memory: bytes) -> str:
        answer = unit_in(layout, read_memory(layout, memory))
        assert isinstance(answer, str)
        return answer

    stamped = stamp_image(layout, UNITS["teasel_pinch"])
    assert said(released("teasel_pinch").image).startswith("It has no serial")
    assert said(b"\xff" * len(stamped)).startswith("The memory is blank")
    assert said(bytes(len(stamped))).startswith("No copy of its identity is sound")
    trial = stamp_image(example("teasel_pinch"), UNITS["teasel_pinch"])
    assert said(trial).startswith("It was made by a trial")
    wild = stamp_image(layout, Unit("TP-1", 0, (("detector_gain", 0),)))
    assert said(wild) == "Its trim detector_gain is outside what is plausible."
    lost = bytearray(stamped)
    bench = record(layout, Kind.BENCH)
    for address in bench.places:
        lost[address + 1] ^= 1
    assert said(bytes(lost)).startswith("No copy of its bench record is sound")
