"""The campaigns find what they are there to find: savings made wrong on purpose lose something in each."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.campaign import PRODUCTS, Lost, build, make, run, subject
from tests.faults.mutants import CUTS, MUTANTS, mutated
from tests.target.emitted import emit, layout_of

pytestmark = [pytest.mark.slow, pytest.mark.needs("gcc")]


@pytest.mark.parametrize("name", MUTANTS)
def test_a_mutant_is_caught(name: str, tmp_path: Path) -> None:
    mutant = MUTANTS[name]
    emitted = make(mutant.product, tmp_path)
    program, *arguments = mutant.campaign
    with pytest.raises(Lost):
        run(build(emitted, str(program), source=mutated(emitted, mutant)), *arguments)


def test_places_that_share_a_page_are_caught(tmp_path: Path) -> None:
    """The layout of a memory that is written byte by byte, on one that cycles pages."""
    emitted = subject(emit(layout_of(PRODUCTS["bytes"]), tmp_path), page=16)
    with pytest.raises(Lost, match="a number plays what it had not and was not asked for"):
        run(build(emitted, "cuts"), *CUTS[1:-1], "pages")
