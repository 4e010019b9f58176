"""What a report says of the memory: the words that explain a choice, and the same numbers as data."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from paramc.cli.renderers import memory
from paramc.layout.layout import Layout
from paramc.layout.plan import plan
from paramc.model.product import Chip, Product
from tests.unit.layout.products import CRC_16, teasel_pinch


def laid_out(*chosen: str, page: int = 1, **changed: Any) -> Layout:
    of = teasel_pinch()
    chip = Chip(2048, page, 100_000, leave_first=max(page, 4), checksum=CRC_16)
    return planned(replace(of, chip=chip, holds=replace(of.holds, chosen=chosen, **changed)))


def planned(of: Product) -> Layout:
    layout = plan(of).value
    assert layout is not None
    return layout


def rows(layout: Layout) -> dict[str, list[list[str]]]:
    """The rows of all tables by their first word, in cells that stand two blanks apart."""
    found: dict[str, list[list[str]]] = {}
    for line in memory.as_text(layout):
        cells = re.split(r"  +", line.strip())
        if line.startswith("  ") and len(cells) > 2:
            found.setdefault(cells[0], []).append(cells[1:])
    return found


def words(layout: Layout) -> str:
    return " ".join(" ".join(memory.as_text(layout)).split())


def test_what_was_chosen_is_marked_and_explained() -> None:
    layout = laid_out("setup", "presets", "state", preset_spare=1, state_copies=2, state_saves=90)
    found = rows(layout)
    assert [found[kind][0][0] for kind in ("identity", "bench", "setup", "presets", "state")] == [
        "2", "2", "2 chosen", "9 chosen", "10 chosen",
    ]
    assert "the fewest that last 15 years, as far as there is room" in words(layout)


def test_nothing_is_said_of_choices_where_the_file_says_all() -> None:
    found = words(laid_out())
    assert "chosen" not in found and "common" not in found


def test_saves_that_are_common_are_said_to_be() -> None:
    layout = laid_out(setup_saves=0, state_saves=0)
    found = rows(layout)
    assert [found[kind][1][0] for kind in ("setup", "presets", "state")] == ["1 common", "5", "30 common"]
    assert "common: the file says no saves" in words(layout)


@pytest.mark.parametrize(("page", "row"), [
    (1, ["30", "4", "2", "18.3", "13 = 1 + 9 + 2 + 1", "52 ms"]),
    (8, ["30", "4", "3", "12.2", "5 = 1 + 2 + 1 + 1", "25 ms"]),
])
def test_a_save_is_shown_with_its_parts(page: int, row: list[str]) -> None:
    assert rows(laid_out(page=page))["state"][1] == row


def test_a_memory_inside_a_processor_has_no_times_on_a_bus() -> None:
    found = words(laid_out())
    assert "Start: 247 bytes are read, 52 of them twice." in found
    assert "one byte written, 4 ms" in found
    assert "kHz" not in found and memory.as_data(laid_out())["buses"] == []


def test_the_times_on_a_bus_say_what_is_counted() -> None:
    layout = laid_out(page=8)
    assert [cells[0] for cells in rows(layout)["100 kHz"]] == [
        # 2 x 25 + 2 x 25 + 3 x 11 + 10 x 14 + 7 x 14 = 371 bytes with addresses, 3339 clocks
        "33.4 ms"
    ]
    said = words(layout)
    for counted in ("9 clocks a byte", "32 bytes at the most", "the memory address in one byte"):
        assert counted in said
    larger = planned(replace(layout.product, chip=replace(layout.product.chip, size=4096)))
    assert "the memory address in two bytes" in words(larger)


def test_the_data_are_the_numbers_of_the_text() -> None:
    layout = laid_out("state", page=8, state_copies=2, state_saves=0)
    found = json.loads(json.dumps(memory.as_data(layout)))
    kinds = {kind["kind"]: kind for kind in found["kinds"]}
    assert [kinds[kind]["chosen"] for kind in kinds] == [False, False, False, False, True]
    assert kinds["identity"]["save"] is None and kinds["identity"]["years"] is None
    assert kinds["state"]["save"] == {
        "per_day": 30, "common": True, "places": 5, "wear": 3, "writes": 5,
        "seal": 1, "body": 2, "checksum": 1, "retired": 1, "further": 3, "milliseconds": "25",
    }
    assert kinds["state"]["years"] == "15.2"
    assert (found["read_at_start"], found["read_again_at_start"]) == (258, 63)
    assert found["write_milliseconds"] == "5"
    assert [bus["hertz"] for bus in found["buses"]] == [100_000, 400_000]
    # 22 bytes read twice in two readings each: 56 bytes with addresses, 504 clocks. A page: 10 bytes, 5 ms.
    assert found["buses"][0]["longest_step_milliseconds"] == "5.9"
    assert found["buses"][1]["longest_step_milliseconds"] == "5.225"
