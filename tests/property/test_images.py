"""Stamped images: what went in comes out, by two readers, and one spoilt byte harms one record only."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.image.account import account
from paramc.image.factory import HARDWARE_UNSAID, factory_values
from paramc.image.memory import Contents, UnitAnswer, read_memory
from paramc.image.records import State, text_value
from paramc.image.stamp import Unit, stamp_image, stamper
from paramc.layout.json_form import to_json
from paramc.layout.layout import FieldKind, Kind, Layout
from tests.independent_reader import read
from tests.unit.image.layouts import NAMES, every_layout, example, gravel_weir

LAYOUTS = (*NAMES, "gravel_weir")


def layout_of(name: str) -> Layout:
    return gravel_weir() if name == "gravel_weir" else example(name)


@cache
def plain(layout_name: str) -> dict[str, Any]:
    """The layout file as any JSON reader sees it."""
    value: dict[str, Any] = json.loads(to_json(layout_of(layout_name)))
    return value


@st.composite
def units(draw: st.DrawFn, layout: Layout) -> Unit:
    product = layout.product
    most = product.holds.serial_characters
    serial = draw(st.from_regex(rf"[A-Z][A-Z0-9-]{{0,{most - 1}}}", fullmatch=True))
    trims = draw(st.lists(st.sampled_from(product.trims), unique=True))
    codes = tuple((trim.name, draw(st.integers(0, trim.codes - 1))) for trim in trims)
    return Unit(serial, draw(st.integers(0, len(product.hardware) - 1)), codes)


def fields_of(contents: Contents) -> dict[str, dict[int, dict[str, int]]]:
    """What read_memory says, in the form of the independent reader."""
    found: dict[str, dict[int, dict[str, int]]] = {}
    for held in contents.kinds:
        names = [field.name for field in held.record.fields]
        found[held.record.kind.value] = {
            number.number: dict(zip(names, number.values, strict=True))
            for number in held.numbers
            if number.values is not None
        }
    return found


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(st.data(), st.sampled_from(LAYOUTS))
def test_a_stamped_unit_reads_back_by_two_readers(data: st.DataObject, name: str) -> None:
    layout = layout_of(name)
    unit = data.draw(units(layout))
    memory = stamp_image(layout, unit)
    assert len(memory) == layout.product.chip.size
    contents = read_memory(layout, memory)
    assert contents.answer is UnitAnswer.SOUND and contents.made_by_layout
    assert contents.identity is not None
    assert (contents.identity.serial, contents.identity.hardware) == (unit.serial, unit.hardware)
    for held in contents.kinds:
        for number in held.numbers:
            assert number.values is not None
            factory = factory_values(layout, held.record, number.number)
            for field, value, made in zip(held.record.fields, number.values, factory, strict=True):
                wanted = made
                if field.kind is FieldKind.SERIAL:
                    wanted = text_value(unit.serial.encode(), field, held.record.order)
                elif field.kind is FieldKind.HARDWARE:
                    assert unit.hardware is not None
                    wanted = unit.hardware
                elif held.record.kind is Kind.BENCH and field.kind is FieldKind.ITEM:
                    wanted = dict(unit.trims).get(field.name, made)
                elif field.kind is FieldKind.MEASURED:
                    wanted = int(field.name.removesuffix("_measured") in dict(unit.trims))
                assert value == wanted, field.name
    assert read(plain(name), memory) == fields_of(contents)
    bench = account(contents).bench
    assert bench is not None
    assert {trim.item: trim.code for trim in bench.trims if trim.measured} == dict(unit.trims)


def test_units_of_one_run_differ_in_identity_and_bench_only_and_do_not_meet() -> None:
    layout = example("teasel_pinch")
    one, two = Unit("TP-1", 0, (("vca_null", 3),)), Unit("TP-2", None)
    alone = [stamp_image(layout, one), stamp_image(layout, two)]
    stamp = stamper(layout)
    assert [stamp(one), stamp(two)] == alone
    start = layout.look_start
    assert alone[0][start:] == alone[1][start:]
    assert read(plain("teasel_pinch"), alone[1])["identity"][0]["hardware"] == HARDWARE_UNSAID


@pytest.mark.parametrize("name", ["teasel_pinch", "gravel_weir"])
def test_one_spoilt_byte_harms_one_copy_and_never_gives_a_wrong_value(name: str) -> None:
    layout = layout_of(name)
    trims = tuple((trim.name, trim.codes // 3) for trim in layout.product.trims)
    memory = stamp_image(layout, Unit("TP-77", 0, trims))
    good = read_memory(layout, memory)
    wanted = fields_of(good)
    spare = {place.address for held in good.kinds for place in held.places if place.state is State.BLANK}
    owner = {
        at: (held.record.kind, place)
        for held in good.kinds
        for place in held.record.places
        for at in range(place, place + held.record.length)
    }
    for at in range(len(memory)):
        # One bit, the low half, all bits, to zero, to one: what tears, wear and wild code leave.
        for byte in {memory[at] ^ 1, memory[at] ^ 0x0F, memory[at] ^ 0xFF, 0x00, 0xFF} - {memory[at]}:
            spoilt = bytearray(memory)
            spoilt[at] = byte
            contents = read_memory(layout, bytes(spoilt))
            for held in contents.kinds:
                for place in held.places:
                    if owner.get(at) == (held.record.kind, place.address) and place.address not in spare:
                        assert place.state in (State.DAMAGED, State.UNSEALED)
                    elif place.address not in spare:
                        assert place.state is State.SOUND
            for kind, numbers in fields_of(contents).items():
                assert numbers.items() <= wanted[kind].items()


def test_the_two_readers_agree_on_spoilt_memories_too() -> None:
    for layout in every_layout():
        name = layout.product.name
        memory = bytearray(stamp_image(layout, Unit("A1", 0)))
        for at in range(0, layout.end, 7):
            memory[at] ^= 0x40
            assert read(plain(name), bytes(memory)) == fields_of(read_memory(layout, bytes(memory)))
            memory[at] ^= 0x40 if at % 3 else 0
