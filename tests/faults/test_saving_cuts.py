"""Power cuts at every event of every save and reset of the emitted C: nothing is lost, nothing is mixed."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from paramc.numbers.hamming import false_pass
from tests.faults.campaign import PAGED, PRODUCTS, Lost, build, make, played, run
from tests.target.emitted import Emitted
from tests.target.independent import Reader

pytestmark = [pytest.mark.slow, pytest.mark.needs("gcc")]

CUTS = 4_000
"""Of each product, either way, in the quick run."""
MILLION = 105_000
"""The same in the slow one: more than a million in all."""
GARBAGE = 60_000
"""Cuts that leave a page as garbage, of each product with pages."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Emitted, Path]]:
    """Each product and its program of cuts."""
    top = tmp_path_factory.mktemp("cuts")
    subjects = {name: make(name, top / name) for name in PRODUCTS}
    return {name: (emitted, build(emitted, "cuts")) for name, emitted in subjects.items()}


@pytest.mark.parametrize("name", PRODUCTS)
def test_a_cut_loses_and_mixes_nothing(
    name: str, made: dict[str, tuple[Emitted, Path]], tmp_path: Path
) -> None:
    emitted, program = made[name]
    for way in ("bytes", "cycles"):
        sample = tmp_path / way
        counts = run(program, 2, 0, CUTS, way, sample)
        assert counts["first"] + counts["second"] >= CUTS
        assert counts["through"] == counts["first"]
        # A reader that shares nothing with the C hears the same in what the cuts left.
        heard = [line.split(" ") for line in sample.read_text(encoding="utf-8").splitlines()]
        assert len(heard) > 10
        for memory, *answers in heard:
            assert answers == played(Reader(emitted.file, bytes.fromhex(memory)))


@pytest.mark.slow
def test_a_million_cuts_lose_and_mix_nothing(made: dict[str, tuple[Emitted, Path]]) -> None:
    """Byte by byte, and by cycles that leave each of their bytes as any; then a second cut, then a save."""
    cuts = 0
    for name, (_, program) in made.items():
        for way in ("bytes", "cycles"):
            counts = run(program, 1, 0, MILLION, way)
            cuts += counts["first"] + counts["second"]
            # What the scenarios claim to contain is there.
            assert min(counts["wrapped"], counts["blank"], counts["slips"]) > 50
            assert counts["newer"] > 20
            assert counts["second"] > MILLION // 3
            assert counts["through"] == counts["first"]
            assert counts["dead"] > 20 or name in ("scant", "long")
            assert counts["older"] > 20 or name != "pages"
    assert cuts >= 1_000_000


@pytest.mark.parametrize("name", PAGED)
def test_a_page_of_garbage_costs_its_own_place_and_passes_by_chance_alone(
    name: str, made: dict[str, tuple[Emitted, Path]]
) -> None:
    """Every other place is as it was, and garbage meets the checksum as rarely as its width says."""
    emitted, program = made[name]
    counts = run(program, 1, 0, GARBAGE, "pages")
    expected = counts["garbage"] * float(false_pass(emitted.layout.product.chip.checksum))
    # Five standard deviations of a rare event, and a handful where hardly one is expected.
    assert counts["garbage"] > GARBAGE // 4
    assert counts["passed"] <= expected + 5 * math.sqrt(expected) + 5
    assert counts["mixed"] <= counts["passed"]
    if emitted.layout.product.chip.checksum.width == 8:
        assert counts["passed"] > 0, "the garbage is too tame to meet the checksum at all"


def test_a_loss_is_found_and_said(tmp_path: Path) -> None:
    """The same program finds a save that stores something else than it was given."""
    emitted = make("bytes", tmp_path)
    text = emitted.source.read_text(encoding="utf-8")
    wrong = text.replace("b_field(store, code, ", "b_field(store, (uint16_t)(code & 0xFFFEu), ", 1)
    assert wrong != text
    source = tmp_path / "wrong.c"
    source.write_text(wrong, encoding="utf-8")
    with pytest.raises(Lost, match="a number plays what it had not and was not asked for"):
        run(build(emitted, "cuts", source=source), 1, 0, CUTS, "bytes")
