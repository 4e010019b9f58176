"""What holds of every form in every tunnel."""

from __future__ import annotations

from itertools import accumulate, pairwise

import pytest
from hypothesis import HealthCheck, given, settings

from paramc.tables.blocks import fit_blocks
from paramc.tables.choose import Fits
from paramc.tables.forms import AnyTable, Form, data_bytes, form_of, value_at
from paramc.tables.segments import FreeSegments, fit_segments
from paramc.tables.survey import survey
from paramc.tables.tunnel import Tunnel
from tests.unit.tables.tunnels import any_tunnels, one_way_tunnels

many = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def values_of(table: AnyTable, tunnel: Tunnel) -> list[int]:
    """The table's values, each of them legal; a point of the tunnel is so met exactly."""
    values = [value_at(table, k) for k in range(tunnel.codes)]
    outside = [k for k, y in enumerate(values) if not tunnel.low[k] <= y <= tunnel.high[k]]
    assert outside == [], (form_of(table), outside)
    return values


@many
@given(one_way_tunnels)
def test_legal_one_way_and_no_smaller_than_the_certificate_allows(tunnel: Tunnel) -> None:
    fits = Fits(tunnel, None)
    for form in Form:
        table = fits.table(form)
        if table is None:
            assert form is not Form.FULL and form is not Form.SEGMENTS
            continue
        values = values_of(table, tunnel)
        assert values in (sorted(values), sorted(values, reverse=True)), form
        assert form_of(table) is form
        least = fits.least_data(form)
        assert least is not None and data_bytes(table) >= least
        if isinstance(table, FreeSegments):
            [own] = [ground for ground in fits.survey.grounds if ground.datum == table.datum]
            assert len(table.starts) >= own.certificate.pieces


@many
@given(any_tunnels())
def test_legal_where_nothing_else_is_asked(tunnel: Tunnel) -> None:
    fits = Fits(tunnel, None)
    for form in Form:
        table = fits.table(form)
        if table is not None:
            values_of(table, tunnel)


@pytest.mark.parametrize(("steps", "width"), [
    # Longest pieces would end above where the next begins: at 32, and then 29.
    ((0, 20, 9, 0), 3),
    # Knots in the middle of where they may lie would fall from one part to the next.
    ((0, 2, 1, 1, 9, 0, 20, 9, 0, 9, 0, 0, 0, 1, 0, 0, 0, 0), 1),
    ((0, 0, 1, 0, 2, 0, 20, 20, 0, 0, 20, 0, 0, 20, 1, 9, 0, 0, 2, 9, 9), 2),
])  # fmt: skip
def test_no_fall_where_pieces_meet(steps: tuple[int, ...], width: int) -> None:
    values = list(accumulate(steps))
    found = survey(Tunnel(tuple(y - width for y in values), tuple(y + width for y in values)))
    for table in (fit_segments(found), fit_blocks(found, wide=False)):
        assert table is not None
        made = values_of(table, found.tunnel)
        assert all(a <= b for a, b in pairwise(made)), made
