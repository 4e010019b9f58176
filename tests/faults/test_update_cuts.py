"""Power cuts during the first save after an update: the converted value or the new one, nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.campaign import Lost, build
from tests.faults.mutants import UPDATE_MUTANTS, mutated
from tests.faults.updates import UPDATED, UPDATES, Update, cut, update

pytestmark = [pytest.mark.slow, pytest.mark.needs("gcc")]

CUTS = 2_000
"""Of each update, either way."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Update, Path]]:
    """Each product's update and its program of cuts."""
    top = tmp_path_factory.mktemp("updates")
    updates = {name: update(name, top / name) for name in UPDATED}
    return {name: (one, build(one.emitted, "cuts")) for name, one in updates.items()}


@pytest.mark.parametrize(("name", "revision"), UPDATES)
def test_a_cut_in_the_first_save_after_an_update_loses_and_mixes_nothing(
    name: str, revision: int, made: dict[str, tuple[Update, Path]]
) -> None:
    """Then comes a second cut, and a save that has to succeed."""
    one, program = made[name]
    for way in ("bytes", "cycles"):
        counts = cut(one, program, revision, CUTS, way)
        assert counts["first"] + counts["second"] >= CUTS
        assert counts["second"] > CUTS // 3
        assert counts["through"] == counts["first"]
        assert counts["given"] == counts["scenarios"] > 3
        assert counts["compared"] >= counts["given"]


def test_the_units_are_what_they_claim_to_be(made: dict[str, tuple[Update, Path]]) -> None:
    """Some were cut off themselves, and of some numbers two copies stand, as before one is retired."""
    for one, _ in made.values():
        for counts in one.counts.values():
            assert counts["saves"] > 100
            assert counts["cut"] > 10
            assert counts["doubled"] > 3


@pytest.mark.parametrize("name", UPDATE_MUTANTS)
def test_a_mutant_is_caught(name: str, made: dict[str, tuple[Update, Path]]) -> None:
    mutant = UPDATE_MUTANTS[name]
    one, _ = made[mutant.product]
    revision, cuts, way = mutant.campaign
    with pytest.raises(Lost):
        cut(one, build(one.emitted, "cuts", source=mutated(one.emitted, mutant)), revision, cuts, way)
