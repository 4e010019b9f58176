"""The lower bound against every division there is."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given, settings

from paramc.tables.certificate import fewest_pieces
from paramc.tables.stabbing import stab
from paramc.tables.tunnel import Tunnel
from tests.unit.tables.tunnels import any_tunnels, rising_tunnels

HALF = Fraction(1, 2)


def passes(tunnel: Tunnel, first: int, stop: int) -> bool:
    """Whether a line rounds to a legal integer at each of these codes: where there is one, there is one
    through two ends of the widened bounds."""
    codes = range(first, stop)
    ends = [(k, y) for k in codes for y in (tunnel.low[k] - HALF, tunnel.high[k] + HALF)]
    return len(codes) == 1 or any(
        all(
            tunnel.low[k] - HALF <= y + (z - y) * (k - x) / (w - x) <= tunnel.high[k] + HALF for k in codes
        )
        for x, y in ends
        for w, z in ends
        if w > x
    )


def fewest_of_all(tunnel: Tunnel) -> int:
    @cache
    def from_code(first: int) -> int:
        if first == tunnel.codes:
            return 0
        return 1 + min(
            from_code(stop) for stop in range(first + 1, tunnel.codes + 1) if passes(tunnel, first, stop)
        )

    return from_code(0)


@pytest.mark.slow
@settings(deadline=None, max_examples=150)
@given(any_tunnels(most_codes=10))
def test_no_division_has_fewer_pieces(tunnel: Tunnel) -> None:
    assert fewest_pieces(tunnel).pieces == fewest_of_all(tunnel)


def test_twelve_codes_of_a_curve() -> None:
    tunnel = Tunnel(tuple(k * k - 2 for k in range(12)), tuple(k * k + 2 for k in range(12)))
    assert fewest_pieces(tunnel).pieces == fewest_of_all(tunnel) == 3


@settings(deadline=None)
@given(rising_tunnels())
def test_pieces_from_a_code_on_are_a_lower_bound(tunnel: Tunnel) -> None:
    certificate = fewest_pieces(tunnel)
    for first in range(tunnel.codes):
        rest = fewest_pieces(Tunnel(tunnel.low[first:], tunnel.high[first:])).pieces
        assert rest - 1 <= certificate.pieces_from(first) <= rest


@settings(deadline=None)
@given(any_tunnels())
def test_reading_a_tunnel_backwards_or_upside_down_changes_nothing(tunnel: Tunnel) -> None:
    pieces = fewest_pieces(tunnel).pieces
    assert fewest_pieces(tunnel.reflected()).pieces == fewest_pieces(tunnel.negated()).pieces == pieces


@settings(deadline=None)
@given(any_tunnels(most_codes=12))
def test_the_fan_is_the_extreme_lines(tunnel: Tunnel) -> None:
    """Against every line through two ends, where it still passes all points that were reached."""
    points = list(zip(range(tunnel.codes), tunnel.low, tunnel.high, strict=True))
    fan, missed = stab(points[0], iter(points[1:]))
    reached = points if missed is None else points[: missed[0]]
    ends = [(x, Fraction(y)) for x, low, high in reached for y in (low, high)]
    slopes = [
        slope
        for x, y in ends
        for w, z in ends
        if w > x
        for slope in [(z - y) / (w - x)]
        if all(low <= y + slope * (u - x) <= high for u, low, high in reached)
    ]
    if fan is None:
        assert len(reached) == 1 and missed is None
        return
    assert Fraction(fan.steepest.rise, fan.steepest.run) == max(slopes)
    assert Fraction(fan.flattest.rise, fan.flattest.run) == min(slopes)
    for line in (fan.steepest, fan.flattest):
        at = [Fraction(line.height + line.rise * x, line.run) for x, _, _ in reached]
        assert all(low <= y <= high for y, (_, low, high) in zip(at, reached, strict=True))
        assert line.floor_at(3) == (line.height + 3 * line.rise) // line.run
        assert line.ceil_at(3, 2) == -((-line.height - 3 * line.rise) // (2 * line.run))
