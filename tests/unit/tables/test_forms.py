"""Every form on the curves of real knobs: legal at every code, of one direction, as small as promised, and
the same numbers in C."""

from __future__ import annotations

from pathlib import Path

import pytest

from paramc.tables.choose import Fits
from paramc.tables.forms import AnyTable, Form, data_bytes, form_of, value_at
from paramc.tables.segments import FreeSegments
from paramc.tables.survey import survey
from paramc.tables.table import FullTable
from paramc.tables.tunnel import Tunnel
from tests.unit.tables.as_c import computed_in_c
from tests.unit.tables.curves import EIGHT, KINKED, SIXTEEN, TABLED, Knob, tunnel_of

BITS = 10

# Fewest pieces, and bytes of blocks and of an even grid, for 10 bits: what these methods were found to reach.
REACHED = dict(zip(EIGHT, [
    (10, 32, 34), (14, 44, 66), (31, 96, 258), (18, 46, 66), (23, 62, 66), (31, 76, 130), (19, 70, 514),
    (15, 54, 130),
], strict=True))  # fmt: skip

eight = pytest.mark.parametrize("knob", EIGHT, ids=lambda knob: knob.name)


def shapes() -> list[tuple[str, Tunnel]]:
    """Tunnels that are not a knob's: falling, signed, flat, narrow, short, and of 32 bits."""
    curve, phase = tunnel_of(EIGHT[3], BITS), tunnel_of(EIGHT[5], BITS)
    signed = Tunnel(tuple(y - 32768 for y in curve.low), tuple(y - 32768 for y in curve.high))
    wide = Tunnel(tuple(y * 67000 for y in phase.low), tuple(y * 67000 for y in phase.high))
    square = [k * k // 700 - 100 for k in range(400)]
    return [
        ("falling", curve.reflected()),
        ("negative", curve.negated()),
        ("signed", signed),
        ("flat", Tunnel((-7,) * 300, (-3,) * 300)),
        ("bytes", Tunnel(tuple(y - 1 for y in square), tuple(y + 1 for y in square))),
        ("exact bytes", Tunnel.exactly(square)),
        ("zones", Tunnel.exactly([n * 5 // 1024 for n in range(1024)])),
        ("short", Tunnel.exactly([5, 6, 9])),
        ("one", Tunnel.exactly([12])),
        ("32 bits", wide),
        ("32 bits, narrow at the top", Tunnel.exactly([k * k * k * 60 for k in range(400)])),
    ]


def tables_of(tunnel: Tunnel) -> list[AnyTable]:
    fits = Fits(tunnel, None)
    return [table for form in Form if (table := fits.table(form)) is not None]


ALL = [*((knob.name, tunnel_of(knob, BITS)) for knob in TABLED), *shapes()]
MADE = {name: tables_of(tunnel) for name, tunnel in ALL}


@pytest.mark.parametrize(("name", "tunnel"), ALL, ids=[name for name, _ in ALL])
def test_every_form_stays_inside_and_never_turns_back(name: str, tunnel: Tunnel) -> None:
    assert len(MADE[name]) >= 2
    for table in MADE[name]:
        values = [value_at(table, k) for k in range(tunnel.codes)]
        assert all(low <= y <= high for low, y, high in zip(tunnel.low, values, tunnel.high, strict=True))
        assert values in (sorted(values), sorted(values, reverse=True)), form_of(table)


@pytest.mark.needs("gcc")
def test_c_computes_the_same_numbers(tmp_path: Path) -> None:
    tables = [table for made in MADE.values() for table in made]
    assert {form_of(table) for table in tables} == set(Form)
    computed = computed_in_c(tables, tmp_path)
    for table, values in zip(tables, computed, strict=True):
        assert values == [value_at(table, k) for k in range(table.entries)], table


@eight
def test_as_small_as_these_methods_reach(knob: Knob) -> None:
    pieces, blocks, grid = REACHED[knob]
    made = {form_of(table): data_bytes(table) for table in MADE[knob.name]}
    assert survey(tunnel_of(knob, BITS)).certificate.pieces == pieces
    assert min(made[Form.BLOCKS], made[Form.WIDE_BLOCKS]) <= blocks
    assert made[Form.GRID] == grid


@pytest.mark.slow
@pytest.mark.parametrize("bits", [10, 12])
@eight
def test_blocks_are_near_the_certificate(knob: Knob, bits: int) -> None:
    fits = Fits(tunnel_of(knob, bits), None)
    blocks = [fits.table(Form.WIDE_BLOCKS), fits.table(Form.BLOCKS)]
    least = min(data_bytes(table) for table in blocks if table is not None)
    # A knot has two bytes, and each of four blocks a start of one.
    assert (least - 5) / 2 <= 1.7 * fits.survey.certificate.pieces
    if "0.1 %" not in knob.name and "cents" not in knob.name:
        assert least <= 70


@pytest.mark.parametrize("bits", [10, 12])
@pytest.mark.parametrize("knob", [*(knob for knob in EIGHT if "LSB" not in knob.name), SIXTEEN, KINKED],
                         ids=lambda knob: knob.name)  # fmt: skip
def test_free_segments_are_at_most_two_more_than_the_certificate(knob: Knob, bits: int) -> None:
    fits = Fits(tunnel_of(knob, bits), None)
    table = fits.table(Form.SEGMENTS)
    assert isinstance(table, FreeSegments)
    assert 0 <= len(table.starts) - fits.survey.certificate.pieces <= 2


def test_two_slopes_are_two_segments() -> None:
    """What no even grid can do: a kink within one step."""
    made = {form_of(table): table for table in MADE[KINKED.name]}
    assert data_bytes(made[Form.SEGMENTS]) <= 16 and data_bytes(made[Form.KNOTS]) <= 16
    assert Form.GRID not in made and Form.BLOCKS not in made and Form.WIDE_BLOCKS not in made


def test_a_full_table_holds_what_is_best() -> None:
    """Without it, the middle of what is legal."""
    tunnel = Tunnel((0, 4, 4), (0, 9, 30))
    assert Fits(tunnel, (0, 5, 29)).table(Form.FULL) == FullTable((0, 5, 29))
    assert Fits(tunnel, None).table(Form.FULL) == FullTable((0, 6, 17))
