"""The places that a file leaves open: the fewest that last, as many as there is room for, always the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.layout.fields import contents
from paramc.layout.layout import Kind
from paramc.layout.places import bytes_needed
from paramc.layout.plan import plan
from paramc.layout.rules import DOES_NOT_FIT, WEAR_SHORT
from paramc.layout.settle import settled
from paramc.layout.wear import years
from paramc.model.product import Chip, Holds, Product
from tests.unit.layout.products import CRC_16, teasel_pinch

OPEN = ("identity", "bench", "setup", "presets", "state")


def left_open(chosen: tuple[str, ...] = OPEN, *, chip: Chip | None = None, **said: Any) -> Product:
    """The compressor with these kinds left open, as its file's reader hands them on."""
    of = teasel_pinch()
    fewest = {"preset_spare": 1, "state_copies": 2}
    return replace(of, chip=chip or of.chip, holds=replace(of.holds, **(fewest | said), chosen=chosen))


def memory(size: int, page: int = 1, endurance: int = 100_000) -> Chip:
    return Chip(size, page, endurance, leave_first=max(page, 4), checksum=CRC_16)


def years_of(of: Product, kind: Kind) -> Fraction:
    span = years(of.chip, next(content for content in contents(of) if content.kind is kind))
    assert span is not None
    return span


def with_places(of: Product, spare: int, copies: int) -> Product:
    return replace(of, holds=replace(of.holds, preset_spare=spare, state_copies=copies))


def every_choice(of: Product) -> Iterator[Product]:
    """All numbers of spare places and copies of state that the memory has room for."""
    for spare in range(1, 256 - of.holds.preset_slots):
        if not fits(with_places(of, spare, 2)):
            return
        for copies in range(2, 256):
            it = with_places(of, spare, copies)
            if not fits(it):
                break
            yield it


def fits(of: Product) -> bool:
    return bytes_needed(of.chip, contents(of)) <= of.chip.size


def worth(of: Product) -> tuple[Fraction, Fraction]:
    """The years of the kind that wears out first, then those of the other; more than 15 are worth no more."""
    first, second = sorted(min(Fraction(15), years_of(of, kind)) for kind in (Kind.PRESETS, Kind.STATE))
    return first, second


def places(holds: Holds) -> tuple[int, int]:
    return holds.preset_spare, holds.state_copies


@pytest.mark.parametrize(
    ("endurance", "page", "saves", "chosen"),
    [
        # 100 000 cycles, two a save: a place lasts 100 000 / (2 x 365 x saves) years.
        (100_000, 1, (10, 30), (1, 4)),  # 13.7 and 4.57 years a place: 2 and 4 places
        (100_000, 1, (10, 40), (1, 5)),  # 3.42 years: 5 places
        (100_000, 1, (1, 1), (1, 2)),  # 137 years: the fewest that there may be
        (100_000, 1, (40, 100), (4, 11)),  # 3.42 and 1.37 years: 5 and 11 places
        (1_000_000, 32, (10, 40), (1, 2)),  # three cycles a save; 91 and 22.8 years
        (1_000_000, 32, (100, 400), (1, 7)),  # 9.13 and 2.28 years: 2 and 7 places
        (100_000, 32, (10, 30), (1, 5)),  # 9.13 and 3.04 years: 2 and 5 places
    ],
)
def test_where_there_is_room_it_is_the_fewest_that_last(
    endurance: int, page: int, saves: tuple[int, int], chosen: tuple[int, int]
) -> None:
    of = left_open(chip=memory(1 << 16, page, endurance), preset_saves=saves[0], state_saves=saves[1])
    assert places(settled(of)) == chosen
    # Tried one by one, no fewer of either lasts 15 years, and fewer than the least is not to be had.
    spare = next(n for n in range(1, 255) if years_of(with_places(of, n, 2), Kind.PRESETS) >= 15)
    copies = next(n for n in range(2, 256) if years_of(with_places(of, 1, n), Kind.STATE) >= 15)
    assert chosen == (spare, copies)


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(
    extra=st.integers(0, 300),
    page=st.sampled_from((1, 8, 32)),
    endurance=st.sampled_from((3_000, 20_000, 100_000, 1_000_000)),
    saves=st.tuples(st.integers(1, 80), st.integers(1, 200)),
)
def test_of_all_choices_that_fit_none_lasts_longer_and_none_as_long_is_smaller(
    extra: int, page: int, endurance: int, saves: tuple[int, int]
) -> None:
    of = left_open(chip=memory(1 << 16, page, endurance), preset_saves=saves[0], state_saves=saves[1])
    size = -(-(bytes_needed(of.chip, contents(of)) + extra) // page) * page
    of = replace(of, chip=replace(of.chip, size=size))
    found = with_places(of, *places(settled(of)))
    assert fits(found)
    choices = list(every_choice(of))
    best = max(map(worth, choices))
    assert worth(found)[0] == best[0]
    if best == (15, 15):
        lasting = [bytes_needed(of.chip, contents(it)) for it in choices if worth(it) == best]
        assert bytes_needed(of.chip, contents(found)) == min(lasting)
    else:
        # Nothing is left over that would make a kind last longer that does not last.
        for more in (with_places(found, found.holds.preset_spare + 1, found.holds.state_copies),
                     with_places(found, found.holds.preset_spare, found.holds.state_copies + 1)):
            assert not fits(more) or worth(more) == worth(found)


def test_what_the_file_says_stays_as_it_is() -> None:
    worn: dict[str, Any] = {"preset_saves": 80, "state_saves": 200, "preset_spare": 3, "state_copies": 6}
    of = left_open((), chip=memory(4096), **worn)
    assert settled(of) == of.holds
    only_state = settled(left_open(("state",), chip=memory(4096), **worn))
    assert only_state.preset_spare == 3 and only_state.state_copies > 6
    only_presets = settled(left_open(("presets",), chip=memory(4096), **worn))
    assert only_presets.preset_spare > 3 and only_presets.state_copies == 6


def test_identity_bench_and_setup_are_two_however_much_they_are_saved() -> None:
    holds = settled(left_open(chip=memory(4096), setup_saves=1000))
    assert (holds.identity_copies, holds.bench_copies, holds.setup_copies) == (2, 2, 2)


def test_saves_that_are_not_said_are_10_of_presets_and_30_of_state() -> None:
    for chip in (memory(4096), memory(4096, 1, 20_000), memory(8192, 32)):
        unsaid = settled(left_open(chip=chip, preset_saves=0, state_saves=0))
        assert places(unsaid) == places(settled(left_open(chip=chip, preset_saves=10, state_saves=30)))


@pytest.mark.parametrize(
    ("size", "chosen"),
    [
        # 229 bytes hold the fewest; another place of either kind takes 11. A place lasts 1.37 years at the
        # 100 saves of presets and 2.74 at the 50 of state, so 4 of the one are as good as 2 of the other,
        # and presets go before state where both are alike.
        (229, (1, 2)), (239, (1, 2)), (240, (2, 2)), (251, (3, 2)), (262, (4, 2)), (273, (4, 3)),
        (284, (5, 3)), (295, (6, 3)), (306, (6, 4)),
    ],
)
def test_short_room_goes_to_what_would_wear_out_first(size: int, chosen: tuple[int, int]) -> None:
    assert places(settled(left_open(chip=memory(size), preset_saves=100, state_saves=50))) == chosen


def test_room_is_what_the_file_leaves() -> None:
    def copies(size: int, names: int) -> int:
        of = left_open(("state",), chip=memory(size), state_saves=40, preset_names=names)
        return settled(of).state_copies

    # Six bytes of name in each of nine places take 54, and five copies of state are as many as it needs.
    assert (copies(256, 0), copies(283 + 11, 6), copies(283, 6)) == (4, 3, 2)
    assert copies(512, 0) == copies(512, 6) == 5


def test_no_kind_gets_more_places_than_the_firmware_can_number() -> None:
    holds = settled(left_open(chip=memory(1 << 16, 1, 1000), preset_saves=50_000, state_saves=50_000))
    assert (holds.preset_slots + holds.preset_spare, holds.state_copies) == (255, 255)


def test_what_is_settled_stays_settled() -> None:
    for chip in (memory(229), memory(256), memory(4096, 8)):
        once = settled(left_open(chip=chip, state_saves=90))
        assert settled(replace(left_open(chip=chip), holds=once)) == once


# ---- in the plan


def test_the_layout_has_the_places_that_were_chosen() -> None:
    of = left_open(chip=memory(4096), state_saves=100)
    layout = plan(of).value
    assert layout is not None
    assert layout.product.holds == settled(of) != of.holds
    counts = {record.kind: len(record.places) for record in layout.records}
    assert counts == {Kind.IDENTITY: 2, Kind.BENCH: 2, Kind.SETUP: 2, Kind.PRESETS: 9, Kind.STATE: 11}
    assert plan(of).diagnostics == ()
    assert plan(layout.product).value == layout


def test_what_falls_short_of_the_years_is_said_and_the_memory_named_mends_it() -> None:
    of = left_open(chip=memory(251), preset_saves=10, state_saves=40)
    checked = plan(of)
    assert checked.value is not None and checked.value.product.holds.state_copies == 4
    (found,) = checked.diagnostics
    assert found.rule is WEAR_SHORT and found.subject == "state"
    assert found.because[-1] == "The file leaves the places of state open, and no more can be had."
    assert found.try_ == "state 5 copies in a memory of 512 bytes"
    assert plan(replace(of, chip=memory(512))).diagnostics == ()


def test_what_does_not_fit_is_what_the_file_fixes_and_the_fewest_of_the_rest() -> None:
    of = left_open(("presets", "state"), chip=memory(228), preset_saves=500, state_saves=500)
    (found,) = plan(of).diagnostics
    assert found.rule is DOES_NOT_FIT
    assert found.sentence == "The memory has 228 bytes and 229 are needed: 1 too many."
    assert found.because[3:6] == (
        "For setup: 2 places x 8 bytes = 16 bytes.",
        "For presets: 9 places x 11 bytes = 99 bytes, the fewest that are chosen.",
        "For state: 2 places x 11 bytes = 22 bytes, the fewest that are chosen.",
    )
    assert "spare" not in found.try_ and "copies" not in found.try_
    assert "growth 0 bytes for presets, which frees 9 bytes" in found.try_
    less = replace(of, holds=replace(of.holds, preset_growth=0))
    assert plan(less).value is not None
    assert plan(replace(of, chip=memory(229))).value is not None
