"""Tunnels, and what of them a rule of one direction can reach."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from paramc.tables.certificate import fewest_pieces
from paramc.tables.datum import Datum
from paramc.tables.survey import survey
from paramc.tables.tunnel import Tunnel
from tests.unit.tables.tunnels import any_tunnels, one_way_tunnels


def test_a_tunnel_holds_what_lies_inside() -> None:
    tunnel = Tunnel((0, 2, 3), (1, 2, 9))
    assert tunnel.codes == 3 and tunnel.middle() == (0, 2, 6)
    assert tunnel.holds((1, 2, 3)) and not tunnel.holds((1, 2, 10)) and not tunnel.holds((1, 2))
    assert not tunnel.holds((-1, 2, 3))


@pytest.mark.parametrize(("low", "high"), [
    ((), ()), ((0,), (0, 1)), ((1,), (0,)), ((0,), (1 << 32,)), ((-(1 << 32),), (0,)),
])  # fmt: skip
def test_what_is_no_tunnel(low: tuple[int, ...], high: tuple[int, ...]) -> None:
    with pytest.raises(AssertionError):
        Tunnel(low, high)


def test_what_a_rising_rule_can_reach() -> None:
    assert Tunnel((0, 5, 3, 4), (9, 9, 6, 12)).rising() == Tunnel((0, 5, 5, 5), (6, 6, 6, 12))
    assert Tunnel((0, 5, 3), (9, 9, 4)).rising() is None


@settings(deadline=None)
@given(any_tunnels(most_codes=6))
def test_a_rising_rule_exists_exactly_where_one_is_found(tunnel: Tunnel) -> None:
    values: list[int] = []
    for low in tunnel.low:  # nothing lower is left to choose
        values.append(max(low, values[-1] if values else low))
    rising = tunnel.rising()
    assert (rising is not None) == tunnel.holds(values)
    assert rising is None or rising.low == tuple(values)


@settings(deadline=None)
@given(one_way_tunnels)
def test_every_height_has_its_legal_value_and_every_value_a_height(tunnel: Tunnel) -> None:
    found = survey(tunnel)
    assert found.grounds
    for ground in found.grounds:
        datum, heights = ground.datum, ground.heights
        assert heights.rising() == heights and heights.low[0] >= 0
        assert heights.high[-1] < 1 << datum.width
        for bounds in (heights.low, heights.high):
            assert found.tunnel.holds([datum.value(height) for height in bounds])
        # Binary places change nothing in how many pieces it takes.
        assert fewest_pieces(heights) == ground.certificate
        if datum.shift >= 0:
            ends = [datum.value(height) for height in (heights.low[0], heights.high[-1])]
            whole = [found.tunnel.low[0], found.tunnel.high[-1]]
            assert ends == whole or ends == [found.tunnel.high[0], found.tunnel.low[-1]]


@pytest.mark.parametrize("falling", [False, True])
@pytest.mark.parametrize("shift", [-2, 0, 3])
def test_heights_are_all_whose_value_is_legal(shift: int, falling: bool) -> None:
    datum = Datum(-5, falling, 8, shift)
    legal = [(y, y + width) for y in range(-60, 50, 7) for width in (0, 1, 5)]
    for low, high in legal:
        heights = [height for height in range(256) if low <= datum.value(height) <= high]
        rising = Tunnel((-high,), (-low,)) if falling else Tunnel((low,), (high,))
        found = datum.heights(rising)
        here = [] if found is None else list(range(max(0, found.low[0]), min(255, found.high[0]) + 1))
        assert here == heights, (low, high)


def test_a_tunnel_that_turns_back_has_no_ground() -> None:
    assert survey(Tunnel.exactly([0, 5, 2])).grounds == ()


def test_coarse_steps_can_hide_a_piece() -> None:
    """Four to a step: lines in these steps pass where no line rounded to an integer does."""
    middle = (-30000, -29909, -29793, -29719, -29640, -29572, -29527, -29430)
    found = survey(Tunnel(tuple(y - 2 for y in middle), tuple(y + 2 for y in middle)))
    [coarse] = [ground for ground in found.grounds if ground.datum.shift == -2]
    assert (found.certificate.pieces, coarse.certificate.pieces) == (4, 3)


def test_a_coarse_datum_leaves_out_what_it_cannot_meet() -> None:
    datum = Datum(100, True, 8, -4)
    assert datum.value(2) == 68
    # As rising heights above -100: the least of 16 that is at least the low, the greatest at most the high.
    assert datum.heights(Tunnel((-100, -70), (-90, -50))) == Tunnel((0, 2), (0, 3))
    assert datum.heights(Tunnel((-100, -83), (-90, -70))) is None
