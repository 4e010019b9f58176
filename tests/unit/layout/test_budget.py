"""The numbers that the build report and the header print."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from paramc.layout.budget import Budget, Bus, Save, Start, budget
from paramc.layout.layout import Kind
from paramc.layout.plan import plan
from paramc.model.product import Product
from paramc.numbers import hamming
from paramc.numbers.quantity import decimal_text
from tests.unit.image.layouts import NAMES, example
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
    # One spare place of setup (8 bytes) and of presets (11), three of state (11 each).
    assert found.start == Start(247, 8 + 11 + 3 * 11)
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


def test_a_save_is_counted_by_its_steps() -> None:
    """Seal broken, body, checksum, the copy before retired; times at 4 ms a byte and 5 ms a page."""
    state = budget_of(teasel_pinch()).saves[-1]
    assert state == Save(Kind.STATE, 1, 11 - 2, 2, 1, further=4 - 2, seconds=Fraction(13 * 4, 1000))
    assert state.writes == 13
    paged = replace(teasel_pinch(), chip=replace(teasel_pinch().chip, size=1024, page=8))
    found = {save.kind: save for save in budget_of(paged).saves}
    # 9 bytes of body on two pages of 8, the checksum on the second one.
    assert found[Kind.STATE] == Save(Kind.STATE, 1, 2, 1, 1, further=2, seconds=Fraction(5 * 5, 1000))
    assert found[Kind.SETUP] == Save(Kind.SETUP, 1, 1, 1, 1, further=0, seconds=Fraction(4 * 5, 1000))


def test_only_memories_with_pages_have_times_on_the_bus() -> None:
    assert budget_of(teasel_pinch()).buses == ()
    paged = replace(teasel_pinch(), chip=replace(teasel_pinch().chip, size=1024, page=8))
    assert [bus.hertz for bus in budget_of(paged).buses] == [100_000, 400_000]


def test_what_is_chosen_and_what_is_common_is_marked() -> None:
    of = teasel_pinch()
    of = replace(of, holds=replace(of.holds, chosen=("bench", "state"), state_copies=2, preset_saves=0))
    found = budget_of(of)
    assert [cost.kind for cost in found.costs if cost.chosen] == [Kind.BENCH, Kind.STATE]
    assert [wear.kind for wear in found.wears if wear.common] == [Kind.PRESETS]
    assert {cost.kind: cost.places for cost in found.costs}[Kind.STATE] == 4


def test_the_budgets_of_the_examples() -> None:
    """By hand, from the lengths of their records: the costs' table of each report."""
    found = {name: budget(example(name)) for name in NAMES}
    assert {name: (it.clear, it.used, it.free) for name, it in found.items()} == {
        "teasel_pinch": (4, 247, 5),
        "long_causeway": (32, 1600, 6560),
        "hob_and_kiln": (4, 366, 654),
    }
    years = {
        name: [decimal_text(wear.years, 1) for wear in it.wears if wear.years is not None]
        for name, it in found.items()
    }
    assert years == {
        "teasel_pinch": ["274", "27.4", "18.3"],  # 100 000 x 2 / (2 x 365 x 10); x 4 / (2 x 365 x 30)
        "long_causeway": ["1826.5", "274", "182.6"],  # 1 000 000 x 3 / (3 x 365 x 10); x 8 / (.. x 40)
        "hob_and_kiln": ["274", "41.1", "27.4"],
    }
    saves = {name: [(save.writes, save.seconds * 1000) for save in it.saves] for name, it in found.items()}
    assert saves == {
        "teasel_pinch": [(10, 40), (13, 52), (13, 52)],  # 8, 11 and 11 bytes, and 2 writes, at 4 ms
        "long_causeway": [(4, 20), (5, 25), (4, 20)],  # 40 bytes are two pages; at 5 ms
        "hob_and_kiln": [(10, 40), (16, 64), (15, 60)],  # 8, 14 and 13 bytes
    }
    assert {name: it.start for name, it in found.items()} == {
        "teasel_pinch": Start(247, 8 + 11 + 3 * 11),
        "long_causeway": Start(952, 14 + 2 * 40 + 7 * 13),
        "hob_and_kiln": Start(366, 8 + 2 * 14 + 5 * 13),
    }
    assert found["teasel_pinch"].buses == found["hob_and_kiln"].buses == ()
    # Readings of 22, 28, 14, 40 and 13 bytes with 4, 4, 4, 8 and 4 of addresses: 2 x 26 + 2 x 32 + 3 x 18
    # + 20 x 48 + 15 x 17 = 1385 bytes, 12 465 clocks. The longest step: 2 x 48 bytes, or 35 and 5 ms.
    assert found["long_causeway"].buses == (
        Bus(100_000, Fraction(12_465, 100_000), Fraction(864, 100_000)),
        Bus(400_000, Fraction(12_465, 400_000), Fraction(315, 400_000) + Fraction(5, 1000)),
    )


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
