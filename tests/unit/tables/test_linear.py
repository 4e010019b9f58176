"""The linear rule against all rules there are, and the byte offsets."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.tables.certificate import fewest_pieces
from paramc.tables.fit import linear_rule
from paramc.tables.linear import fit_linear
from paramc.tables.offset_table import OffsetTable, fit_offsets
from paramc.tables.table import LinearRule, evaluate
from paramc.tables.tunnel import Tunnel
from tests.unit.tables.tunnels import any_tunnels


def fitted(tunnel: Tunnel) -> LinearRule | None:
    return fit_linear(tunnel, fewest_pieces(tunnel))


@settings(deadline=None)
@given(any_tunnels(most_codes=5))
def test_no_rule_with_a_shift_of_at_most_three_is_missed(tunnel: Tunnel) -> None:
    found = fitted(tunnel)
    some = any(
        tunnel.holds([(k * multiplier + height) >> shift for k in range(tunnel.codes)])
        for shift in range(4)
        for multiplier in range(-90 << shift, (90 << shift) + 1, 1)
        for height in {(tunnel.low[0] << shift), ((tunnel.high[0] + 1) << shift) - 1}
    )
    assert found is not None or not some
    if found is not None:
        assert tunnel.holds([evaluate(found, k) for k in range(tunnel.codes)])
        assert found.multiplier >= 0 and 0 <= found.offset < 1 << found.shift
        assert (found.entries - 1) * found.multiplier + found.offset < 1 << 32


@pytest.mark.parametrize("values", [
    [k * 15927 // 256 for k in range(1024)],
    [-1538 - 256 * k * 36 // 72 for k in range(73)],
    [k * 65535 // 4095 for k in range(4096)],
    [k * 4294967 for k in range(1001)],
    [7] * 300,
    [-5],
])  # fmt: skip
def test_where_the_exact_integers_have_a_rule_there_is_one(values: list[int]) -> None:
    assert linear_rule(values) is not None
    found = fitted(Tunnel.exactly(values))
    assert found is not None and [evaluate(found, k) for k in range(len(values))] == values


def test_a_tolerance_is_used_for_cheaper_arithmetic() -> None:
    """Exactly, 1.7 takes some binary places; within 40, one is enough, and 16 bits."""
    exact = Tunnel.exactly([k * 17 // 10 for k in range(1000)])
    loose = Tunnel(tuple(y - 40 for y in exact.low), tuple(y + 40 for y in exact.high))
    strict, cheap = fitted(exact), fitted(loose)
    assert strict is not None and cheap is not None
    assert cheap.multiplier * 999 + cheap.offset < 1 << 16 <= strict.multiplier * 999 + strict.offset


def test_two_slopes_have_none() -> None:
    assert fitted(Tunnel.exactly([0, 1, 2, 4, 6])) is None


@settings(deadline=None)
@given(st.lists(st.integers(-600, 70000), min_size=1, max_size=40))
def test_offsets_give_the_very_values(values: list[int]) -> None:
    table = fit_offsets(values)
    if table is None:
        # Runs of two codes, which is the least there is, are too steep; one code alone has none.
        steps = [abs(b - a) for a, b in zip(values[::2], values[1::2], strict=False)]
        assert max(steps, default=256) > 255
    else:
        assert [table.value(k) for k in range(len(values))] == values
        assert all(0 <= offset < 256 for offset in table.offsets)


def test_an_offset_is_a_byte() -> None:
    assert fit_offsets([0, 255]) is not None and fit_offsets([0, 256]) is None


def test_offsets_count_their_bases() -> None:
    assert fit_offsets([1000, 1255, 1256, 1300]) == OffsetTable((1000, 1256), (0, 255, 0, 44), 1)
    table = fit_offsets(list(range(1000, 1256)))
    assert table is not None and (len(table.bases), table.flash_bytes) == (1, 258)
