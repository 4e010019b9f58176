"""A memory that is busy, refuses or is misread once, in any access of a save: the save succeeds anyhow."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.campaign import PRODUCTS, build, make, run

pytestmark = pytest.mark.slow


@pytest.mark.needs("gcc")
@pytest.mark.parametrize("name", PRODUCTS)
def test_a_slip_costs_nothing(name: str, tmp_path: Path) -> None:
    program = build(make(name, tmp_path), "slips")
    for seed in (1, 2, 3):
        counts = run(program, seed)
        assert counts["deeds"] >= 6
        assert min(counts["busy"], counts["refused"]) > 100
        assert counts["misread"] > 50 * counts["busy"] and counts["writes"] > 40
