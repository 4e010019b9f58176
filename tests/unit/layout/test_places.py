"""Where records stand: on page edges, in whole pages, apart from one another; for random products too."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings

from paramc.layout.layout import LOOK, Kind, Layout
from paramc.layout.plan import plan
from paramc.model.product import Chip, Product
from tests.unit.layout.anything import products
from tests.unit.layout.products import CRC_16, doorbell, teasel_pinch


def laid_out(of: Product) -> Layout:
    layout = plan(of).value
    assert layout is not None
    return layout


def on(page: int, leave_first: int, size: int = 4096) -> Chip:
    return Chip(size, page, 1_000_000, leave_first=leave_first, checksum=CRC_16)


def test_a_place_takes_whole_pages_from_a_page_edge() -> None:
    layout = laid_out(replace(teasel_pinch(), chip=on(32, 32)))
    assert [(record.places[0], record.place_bytes) for record in layout.records] == [
        (32, 32), (96, 32), (160, 32), (224, 32), (512, 32),
    ]
    assert layout.end == 512 + 4 * 32


def test_a_record_longer_than_a_page_takes_two() -> None:
    layout = laid_out(replace(teasel_pinch(), chip=on(16, 16)))
    assert {record.place_bytes for record in layout.records if record.length > 16} == {32}
    assert {record.place_bytes for record in layout.records if record.length <= 16} == {16}


@pytest.mark.parametrize(("leave_first", "start"), [(0, 0), (1, 8), (4, 8), (8, 8), (9, 16)])
def test_the_clear_zone_ends_on_a_page_edge(leave_first: int, start: int) -> None:
    assert laid_out(replace(doorbell(), chip=on(8, leave_first))).records[0].places[0] == start


def test_regions_stand_in_the_order_of_their_owners() -> None:
    layout = laid_out(doorbell())
    assert [record.kind for record in layout.records] == list(Kind)
    assert all(before.end == after.places[0] for before, after in pairwise(layout.records))
    bench = layout.record(Kind.BENCH)
    assert bench is not None and layout.look_start == bench.end


@settings(max_examples=60, deadline=None)
@given(products())
def test_any_product_lies_on_whole_pages_apart_and_within_a_byte_of_its_bits(of: Product) -> None:
    layout = laid_out(of)
    chip = of.chip
    taken = [range(chip.leave_first)]
    for record in layout.records:
        for place in record.places:
            assert place % chip.page == 0
            taken.append(range(place, place + record.place_bytes))
        assert record.place_bytes % chip.page == 0
        assert 0 <= record.place_bytes - record.length < chip.page
        fixed = 2 + record.growth + chip.checksum.size
        assert 0 <= 8 * (record.length - fixed) - record.payload_bits < 8
        bits = [bit for field in record.fields for bit in range(field.bit, field.bit + field.width)]
        assert bits == list(range(16, 16 + record.payload_bits))
        assert all(field.codes <= 1 << field.width for field in record.fields if field.width <= 32)
    assert all(before.stop <= after.start for before, after in pairwise(taken))
    assert taken[-1].stop == layout.end <= chip.size
    assert all(record.places[0] >= layout.look_start for record in layout.records if record.kind in LOOK)
    stored = [field.name for record in layout.records for field in record.fields]
    assert all(item.name in stored for item in of.items)
