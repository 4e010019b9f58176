"""What stands in a record, in which order, at which bits."""

from __future__ import annotations

from dataclasses import replace

import pytest

from paramc.layout.fields import contents, permanent_numbers
from paramc.layout.layout import Field, FieldKind, Kind, Layout, Record
from paramc.layout.plan import plan
from paramc.model.items import Flag
from paramc.model.product import Order, Product
from paramc.text.source import Source, Span
from tests.unit.layout.bits import field_value, packed, text_parts
from tests.unit.layout.products import doorbell, holds, knob, param, product, stepped, teasel_pinch, trim


def laid_out(of: Product) -> Layout:
    layout = plan(of).value
    assert layout is not None
    return layout


def record_of(of: Product, kind: Kind) -> Record:
    record = laid_out(of).record(kind)
    assert record is not None
    return record


def names(record: Record) -> list[str]:
    return [field.name for field in record.fields]


def test_identity_is_alike_in_every_product() -> None:
    little = record_of(teasel_pinch(), Kind.IDENTITY)
    bells = doorbell()
    chip = replace(bells.chip, order=Order.BIG)
    ten = replace(bells.holds, serial_characters=10)
    big = record_of(replace(bells, chip=chip, holds=ten), Kind.IDENTITY)
    assert little.fields == big.fields
    assert little.order is big.order is Order.BIG
    assert little.growth == 0
    assert [(field.kind, field.bit, field.width) for field in little.fields] == [
        (FieldKind.PRODUCT_CODE, 16, 16),
        (FieldKind.HARDWARE, 32, 8),
        (FieldKind.FINGERPRINT, 40, 32),
        (FieldKind.TRIAL, 72, 1),
        (FieldKind.SERIAL, 73, 80),
    ]
    # 2 of head, 137 bits, 2 of checksum
    assert little.length == 2 + 18 + 2


def test_an_identity_without_a_serial_has_no_field_for_it() -> None:
    bare = product((param("level", stepped("%", "0", "100", "1")),), holds=holds(serial_characters=0))
    assert names(record_of(bare, Kind.IDENTITY))[-1] == "trial"


def test_a_width_is_the_least_that_holds_every_code() -> None:
    widths = {field.name: field.width for field in record_of(teasel_pinch(), Kind.PRESETS).fields}
    # 8 slots; 73, 186, 796, 293, 145 steps and 3 ways
    assert widths == {
        "slot": 3, "squeeze": 7, "ratio": 8, "attack": 10, "release": 9, "level": 8, "tone": 2,
    }


@pytest.mark.parametrize(("slots", "width"), [(1, 0), (2, 1), (3, 2), (4, 2), (5, 3), (128, 7), (129, 8)])
def test_a_slot_number_has_no_more_bits_than_it_needs(slots: int, width: int) -> None:
    of = product((param("level", stepped("%", "0", "1", "1")),), holds=holds(preset_slots=slots))
    found = [content for content in contents(of) if content.kind in (Kind.PRESETS, Kind.STATE)]
    assert [content.fields[0].width for content in found] == [width, width]
    assert [content.fields[0].codes for content in found] == [slots, slots]
    assert found[0].numbers == slots


def test_state_has_what_a_preset_has_and_no_name() -> None:
    presets, state = record_of(doorbell(), Kind.PRESETS), record_of(doorbell(), Kind.STATE)
    assert names(presets) == ["slot", "level", "hum", "chime", "name"]
    assert names(state) == ["last_preset", "engaged", "level", "hum", "chime"]


def test_bench_has_each_trim_and_each_measured_knob_with_its_bit() -> None:
    assert [(field.name, field.kind, field.width) for field in record_of(doorbell(), Kind.BENCH).fields] == [
        ("loud_low", FieldKind.END_LOW, 10),
        ("loud_high", FieldKind.END_HIGH, 10),
        ("loud_measured", FieldKind.MEASURED, 1),
        ("pitch", FieldKind.ITEM, 6),
        ("pitch_measured", FieldKind.MEASURED, 1),
    ]


def test_measured_ends_are_as_wide_as_the_converter() -> None:
    of = product((), (knob("FINE", 12, measured=True), knob("ROUGH", 8, measured=True), knob("FIXED", 10)))
    fields = record_of(of, Kind.BENCH).fields
    assert [(field.name, field.width, field.codes) for field in fields if field.width > 1] == [
        ("fine_low", 12, 4096),
        ("fine_high", 12, 4096),
        ("rough_low", 8, 256),
        ("rough_high", 8, 256),
    ]


def test_measured_ends_stand_where_their_control_is_named() -> None:
    scale = stepped("dB", "-1", "1", "0.1")
    source = Source("bell.paramc", "trim first  knob LOUD  trim last")
    spans = {word: Span(source, source.text.index(word), source.text.index(word) + 4) for word in
             ("first", "LOUD", "last")}
    of = product(
        (trim("first", scale, "0", place=spans["first"]), trim("last", scale, "0", place=spans["last"])),
        (knob("LOUD", measured=True, place=spans["LOUD"]),),
    )
    assert permanent_numbers(of) == {"first": 1, "LOUD": 2, "last": 3}
    assert names(record_of(of, Kind.BENCH)) == [
        "first", "first_measured", "loud_low", "loud_high", "loud_measured", "last", "last_measured",
    ]


def test_without_places_or_from_two_files_the_panel_comes_first() -> None:
    scale = stepped("dB", "-1", "1", "0.1")
    here, there = (Source(name, "x" * 9) for name in ("here.paramc", "there.paramc"))
    for item_place, knob_place in ((None, None), (Span(here, 0, 1), Span(there, 5, 6))):
        of = product(
            (trim("first", scale, "0", place=item_place),), (knob("LOUD", measured=True, place=knob_place),)
        )
        assert permanent_numbers(of) == {"LOUD": 1, "first": 2}


def test_the_fields_of_one_thing_share_its_permanent_number() -> None:
    layout = laid_out(doorbell())
    numbers = {
        field.name: field.number for record in layout.records for field in record.fields
    }
    assert numbers["loud_low"] == numbers["loud_high"] == numbers["loud_measured"] == 1
    assert numbers["pitch"] == numbers["pitch_measured"] == 6
    assert [numbers[name] for name in ("level", "hum", "chime", "night")] == [2, 3, 4, 5]
    assert numbers["slot"] is numbers["name"] is numbers["last_preset"] is numbers["serial"] is None


def test_kinds_with_nothing_in_them_are_left_out() -> None:
    of = product((param("level", stepped("%", "0", "100", "1")),))
    assert [record.kind for record in laid_out(of).records] == [Kind.IDENTITY, Kind.PRESETS, Kind.STATE]
    kept = product((Flag("trails", "Trails", 1, kept_once=True),))
    assert [record.kind for record in laid_out(kept).records] == [
        Kind.IDENTITY, Kind.SETUP, Kind.PRESETS, Kind.STATE,
    ]


@pytest.mark.parametrize("order", list(Order))
def test_fields_read_back_from_an_independent_packing(order: Order) -> None:
    """The offsets of the layout, against records put together as texts of 0 and 1."""
    bells = doorbell()
    of = replace(bells, chip=replace(bells.chip, order=order))
    head = [(8, 0), (8, 1)]
    records: dict[Kind, list[tuple[int, int]]] = {
        # low 15, high 1008, measured, pitch code 20, not measured
        Kind.BENCH: [(10, 15), (10, 1008), (1, 1), (6, 20), (1, 0)],
        Kind.SETUP: [(1, 1)],
        # slot 2, 30 %, travel 20, high, "Dong"
        Kind.PRESETS: [(1, 1), (7, 30), (5, 20), (2, 2), *text_parts(b"Dong", 6)],
        # preset 2, engaged, then its values
        Kind.STATE: [(1, 1), (1, 1), (7, 30), (5, 20), (2, 2)],
    }
    for kind, parts in records.items():
        record = record_of(of, kind)
        raw = packed(head + parts, order.value)
        values = [_value(raw, order, field) for field in record.fields]
        assert values == _joined(parts, record), kind
        assert len(raw) == record.length - record.growth - 2


def test_identity_reads_back_high_bit_first() -> None:
    record = record_of(doorbell(), Kind.IDENTITY)
    parts = [(16, 0x4442), (8, 0xFF), (32, 0xC0EED8D2), (1, 1), *text_parts(b"D1", 4)]
    raw = packed([(8, 0), (8, 1), *parts], "big")
    assert raw[2:9] == bytes.fromhex("4442 FF C0EED8D2")
    assert [_value(raw, Order.BIG, field) for field in record.fields] == _joined(parts, record)


def _value(raw: bytes, order: Order, field: Field) -> int | bytes:
    if field.kind in (FieldKind.NAME, FieldKind.SERIAL):
        starts = range(field.bit, field.bit + field.width, 8)
        return bytes(field_value(raw, order.value, bit, 8) for bit in starts)
    return field_value(raw, order.value, field.bit, field.width)


def _joined(parts: list[tuple[int, int]], record: Record) -> list[int | bytes]:
    """The values of parts, the bytes of a text together."""
    rest = iter(value for _, value in parts)
    return [
        bytes(next(rest) for _ in range(field.width // 8))
        if field.kind in (FieldKind.NAME, FieldKind.SERIAL)
        else next(rest)
        for field in record.fields
    ]


def test_teasel_pinch_takes_251_of_256_bytes() -> None:
    """The sum that the compressor's record form was chosen by, line by line."""
    layout = laid_out(teasel_pinch())
    assert [(record.kind.value, record.length, len(record.places)) for record in layout.records] == [
        ("identity", 22, 2),
        ("bench", 22, 2),
        ("setup", 8, 2),
        ("presets", 11, 9),
        ("state", 11, 4),
    ]
    assert layout.end == 4 + 2 * 22 + 2 * 22 + 2 * 8 + 9 * 11 + 4 * 11 == 251
    assert layout.look_start == 4 + 2 * 22 + 2 * 22
    assert {record.kind: record.payload_bits for record in layout.records} == {
        Kind.IDENTITY: 137, Kind.BENCH: 129, Kind.SETUP: 19, Kind.PRESETS: 47, Kind.STATE: 48,
    }


def test_saves_and_growth_of_the_file_reach_the_records() -> None:
    of = replace(doorbell(), holds=replace(doorbell().holds, setup_saves=3, state_growth=5))
    assert record_of(of, Kind.SETUP).saves == 3
    assert record_of(of, Kind.BENCH).saves == 0
    more = record_of(of, Kind.STATE)
    assert more.length == record_of(doorbell(), Kind.STATE).length + 4
    assert more.growth == 5
