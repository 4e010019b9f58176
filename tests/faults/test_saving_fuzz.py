"""The emitted C under sanitizers: any memory, calls in any order, a driver that answers nonsense."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.campaign import PRODUCTS, build, coverage, make, run

pytestmark = pytest.mark.slow

UNITS, CALLS = 700, 250

FLOOR = 0.98
"""Of the lines of a product's C, run by this alone. What is left: faults of the flash itself, which the
self-test finds, and what takes more than a hundred saves beside a copy that cannot be retired: the tests of
wear do that."""


@pytest.mark.needs("gcc")
@pytest.mark.parametrize("name", PRODUCTS)
def test_any_calls_on_any_memory_stay_in_bounds(name: str, tmp_path: Path) -> None:
    emitted = make(name, tmp_path)
    program = build(emitted, "fuzz", extra=("-O1", "--coverage"), sanitize=True)
    counts = run(program, 1, UNITS, CALLS)
    assert counts["calls"] == UNITS * CALLS
    assert counts["sound"] > UNITS and counts["saved"] > UNITS and counts["writes"] > UNITS
    share, lines = coverage(emitted, program)
    assert lines > 500 and share >= FLOOR
