"""The numbers that the build report and the header print."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from paramc.layout.budget import Budget, budget
from paramc.layout.layout import Kind
from paramc.layout.plan import plan
from paramc.model.product import Product
from paramc.numbers import hamming
from tests.unit.layout.products import doorbell, teasel_pinch


def budget_of(of: Product) -> Budget:
    layout = plan(of).value
    assert layout is not None
    return budget(layout)


def test_every_byte_of_the_memory_is_accounted_for() -> None:
    for of in (doorbell(), teasel_pinch(), replace(doorbell(), chip=replace(doorbell().chip, page=16))):
        found = budget_of(of)
        assert found.size == of.chip.size == found.clear + found.used + found.free
        assert found.used == sum(cost.total_bytes for cost in found.costs)
        for cost in found.costs:
            bits = cost.payload_bits + cost.padding_bits
            assert bits % 8 == 0 and cost.padding_bits < 8
            assert cost.record_bytes == cost.head_bytes + bits // 8 + cost.growth_bytes + cost.checksum_bytes
            assert cost.total_bytes == cost.places * (cost.record_bytes + cost.idle_bytes)


def test_the_costs_of_the_compressor() -> None:
    found = budget_of(teasel_pinch())
    assert (found.clear, found.used, found.free) == (4, 247, 5)
    assert found.read_at_start == 247
    assert [(cost.kind, cost.payload_bits, cost.padding_bits, cost.growth_bytes) for cost in found.costs] == [
        (Kind.IDENTITY, 137, 7, 0),
        (Kind.BENCH, 129, 7, 1),
        (Kind.SETUP, 19, 5, 1),
        (Kind.PRESETS, 47, 1, 1),
        (Kind.STATE, 48, 0, 1),
    ]
    assert {cost.head_bytes + cost.checksum_bytes for cost in found.costs} == {4}


def test_the_years_are_those_of_each_kind() -> None:
    found = {wear.kind: wear for wear in budget_of(teasel_pinch()).wears}
    state = found[Kind.STATE]
    assert (state.saves, state.places, state.cycles) == (30, 4, 2)
    assert state.years == Fraction(100_000 * 4, 30 * 2 * 365)
    assert found[Kind.PRESETS].places == 2
    assert found[Kind.IDENTITY].years is None


def test_protection_is_listed_longest_first() -> None:
    """CRC-16 with polynomial 1021 keeps distance 4 up to 32751 data bits (Koopman's published tables)."""
    found = budget_of(teasel_pinch()).protections
    assert [(one.kinds, one.data_bits, one.distance) for one in found] == [
        ((Kind.IDENTITY, Kind.BENCH), 160, 4),
        ((Kind.PRESETS, Kind.STATE), 72, 4),
        ((Kind.SETUP,), 48, 4),
    ]
    assert budget_of(teasel_pinch()).false_pass == hamming.false_pass(teasel_pinch().chip.checksum)
    assert Fraction(1, 67_000) < budget_of(teasel_pinch()).false_pass < Fraction(1, 66_000)
