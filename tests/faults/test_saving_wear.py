"""A memory that wears out: a dead cell costs a spare, without spares saving ends and says so."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from paramc.layout.wear import cycles_a_save, places_of_one
from tests.faults.campaign import PRODUCTS, build, make, run

pytestmark = [pytest.mark.slow, pytest.mark.needs("gcc")]

ROUNDS = 60
SAVES = 3000


@pytest.mark.parametrize("name", PRODUCTS)
def test_nothing_is_lost_while_a_memory_wears_out(name: str, tmp_path: Path) -> None:
    counts = run(build(make(name, tmp_path), "wear"), 1, ROUNDS)
    # Each unit came to its end: cells wore out, spares died one by one, and saves were refused for it.
    assert counts["ended"] == 2 * ROUNDS
    assert min(counts["cells"], counts["places"], counts["worn"]) >= ROUNDS
    assert counts["untold"] > 0 or name == "scant"


@pytest.mark.parametrize("name", PRODUCTS)
def test_wear_is_what_the_layout_counts_with(name: str, tmp_path: Path) -> None:
    """Many saves on one number: what the hardest-worked cell has to do, or its page where those cycle."""
    emitted = make(name, tmp_path)
    chip = emitted.layout.product.chip
    counts = run(build(emitted, "wear"), 1, 0, SAVES)
    kinds = [record for record in emitted.layout.records if f"{record.kind.value}_cell" in counts]
    assert len(kinds) == len(counts) // 2
    for record in kinds:
        counted = SAVES * Fraction(cycles_a_save(chip), places_of_one(record))
        done = counts[f"{record.kind.value}_{'cell' if chip.page == 1 else 'page'}"]
        # The first round through the places may meet one that is written already; a record whose checksum
        # begins a page of its own spares that page the body, and the layout counts with it all the same.
        own_page = chip.page > 1 and (record.length - chip.checksum.size) % chip.page == 0
        assert counted * (Fraction(2, 3) if own_page else 1) - 3 <= done <= counted + 3
