"""A memory that is too small: the sum is shown, and every way out that is named really is one."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from paramc.layout.fields import contents
from paramc.layout.places import bytes_needed
from paramc.layout.plan import plan
from paramc.layout.room import does_not_fit
from paramc.layout.rules import DOES_NOT_FIT
from paramc.model.product import Chip, Product
from paramc.text.diagnostic import Diagnostic
from tests.unit.layout.products import CRC_16, teasel_pinch


def small(size: int, page: int = 1, **changed: Any) -> Product:
    of = teasel_pinch()
    chip = Chip(size, page, 100_000, leave_first=4, checksum=CRC_16)
    return replace(of, chip=chip, holds=replace(of.holds, **changed))


def refused(of: Product) -> Diagnostic:
    checked = plan(of)
    assert checked.value is None and checked.stopped
    return next(found for found in checked.diagnostics if found.rule is DOES_NOT_FIT)


def test_the_sum_is_shown_line_by_line() -> None:
    found = refused(small(240))
    assert found.sentence == "The memory has 240 bytes and 251 are needed: 11 too many."
    assert found.because == (
        "The clear zone takes 4 bytes.",
        "For identity: 2 places x 22 bytes = 44 bytes.",
        "For bench: 2 places x 22 bytes = 44 bytes.",
        "For setup: 2 places x 8 bytes = 16 bytes.",
        "For presets: 9 places x 11 bytes = 99 bytes.",
        "For state: 4 places x 11 bytes = 44 bytes.",
        "The sum is 251 bytes.",
    )


def test_whole_pages_are_said_beside_the_record() -> None:
    assert (
        "For bench: 2 places x 32 bytes = 64 bytes, each record of 22 bytes on whole pages."
        in refused(small(128, 16)).because
    )


def test_the_sum_adds_up() -> None:
    found = refused(small(200, 8))
    lines = found.because[:-1]
    total = sum(int(re.findall(r"(\d+) bytes?", line.split(" = ")[-1])[0]) for line in lines)
    assert found.because[-1] == f"The sum is {total} bytes."


def test_a_memory_of_exactly_the_sum_is_enough() -> None:
    assert plan(small(251)).value is not None
    assert refused(small(250)).sentence.endswith("1 too many.")


@pytest.mark.parametrize(
    ("size", "changed", "ways"),
    [
        (240, {}, "state 3 copies, which frees 11 bytes; or a memory of 256 bytes"),
        (
            250,
            {},
            "state 3 copies, which frees 11 bytes; or growth 0 bytes for presets, which frees 9 bytes;"
            " or growth 0 bytes for state, which frees 4 bytes; or growth 0 bytes for setup, which frees"
            " 2 bytes; or growth 0 bytes for bench, which frees 2 bytes; or a memory of 256 bytes",
        ),
        (256, {"preset_spare": 4}, "spare 1 for presets, which frees 33 bytes; or a memory of 512 bytes"),
        (256, {"preset_names": 6}, "no names, which frees 54 bytes; or a memory of 512 bytes"),
        (100, {}, "a memory of 256 bytes"),
    ],
)
def test_ways_out(size: int, changed: dict[str, int], ways: str) -> None:
    assert refused(small(size, **changed)).try_ == ways


def test_slots_go_down_to_the_last_preset_of_the_file_and_no_further() -> None:
    of = small(256, preset_slots=20)
    # 21 places of 12 bytes become 9 of 11, and each of the 4 of state becomes a byte shorter.
    assert "presets 8 slots, which frees 157 bytes" in refused(of).try_
    first = replace(of, first_preset=9)
    assert "slots" not in refused(first).try_


FIELDS = {
    "spare": "preset_spare",
    "state": "state_copies",
    "setup": "setup_copies",
    "bench": "bench_copies",
    "identity": "identity_copies",
    "presets": "preset_slots",
    "names": "preset_names",
    "no": "preset_names",
    "growth": "growth",
}


@pytest.mark.parametrize("page", [1, 4, 8])
@pytest.mark.parametrize("over", [1, 20, 60, 150])
def test_each_way_fits_and_one_less_does_not(page: int, over: int) -> None:
    roomy = {"preset_spare": 8, "state_copies": 9, "preset_slots": 20, "preset_names": 12, "bench_copies": 4}
    big = small(1 << 16, page, **roomy)
    of = replace(big, chip=replace(big.chip, size=bytes_needed(big.chip, contents(big)) - over))
    ways = [way.split(",")[0] for way in refused(of).try_.split("; or ")]
    assert ways[-1].startswith("a memory of ")
    for way in ways[:-1]:
        number = int((re.findall(r"\d+", way) or ["0"])[0])
        field = FIELDS[way.split()[0]]
        if field == "growth":
            field = f"{way.split()[-1].removesuffix('s')}_growth"
        assert fits(of, **{field: number}), way
        assert not fits(of, **{field: number + 1}), way


def fits(of: Product, **changed: Any) -> bool:
    less = replace(of, holds=replace(of.holds, **changed))
    return does_not_fit(less, contents(less)) is None


def test_enormous_counts_are_refused_at_once() -> None:
    found = refused(small(256, preset_slots=10**9, state_copies=10**12))
    assert found.because[-1] == f"The sum is {4 + 44 + 44 + 16 + (10**9 + 1) * 15 + 10**12 * 15} bytes."


def test_a_sum_over_64_kib_names_no_larger_memory() -> None:
    assert "memory" not in refused(small(256, preset_slots=60_000)).try_
