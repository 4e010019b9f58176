"""The holds block."""

from __future__ import annotations

import pytest

from paramc.check.example import changed, followed_by
from paramc.model.product import IfLost
from tests.unit.check.told import only, product_of, stops, told

_LINE = "identity 2 copies  presets 2 slots spare 1  state 4 copies"
_TRIM = 'trim bias "Bias" { range -10 % .. 10 %  step 1 %  nominal 0 %  safe -10 % }\n'


def _holds(lines: str) -> str:
    return changed(_LINE, lines)


def test_what_is_said_is_what_is_read() -> None:
    holds = product_of(
        _holds(
            "identity 3 copies serial 10 characters  bench 4 copies growth 2 bytes if lost bypass"
            "  setup 5 copies growth 3 bytes saves 1 per day"
            "  presets 16 slots spare 2 growth 4 bytes names 24 bytes saves 10 per day"
            "  state 8 copies growth 0 bytes saves 40 per day"
        )
    ).holds
    assert (holds.identity_copies, holds.serial_characters) == (3, 10)
    assert (holds.bench_copies, holds.bench_growth, holds.if_lost) == (4, 2, IfLost.BYPASS)
    assert (holds.setup_copies, holds.setup_growth, holds.setup_saves) == (5, 3, 1)
    assert (holds.preset_slots, holds.preset_spare, holds.preset_growth) == (16, 2, 4)
    assert (holds.preset_names, holds.preset_saves) == (24, 10)
    assert (holds.state_copies, holds.state_growth, holds.state_saves) == (8, 0, 40)


def test_what_is_not_said() -> None:
    holds = product_of(_holds("identity  presets 2 slots  state")).holds
    assert (holds.identity_copies, holds.serial_characters) == (2, 0)
    assert (holds.bench_copies, holds.setup_copies) == (0, 0)
    assert (holds.preset_spare, holds.preset_growth, holds.preset_names, holds.preset_saves) == (1, 2, 0, 0)
    assert (holds.state_copies, holds.state_growth, holds.state_saves) == (2, 1, 0)
    assert holds.chosen == ("identity", "presets", "state")


def test_setup_and_bench_that_are_needed_and_not_said() -> None:
    kept = product_of(followed_by('flag bright "Bright" { default off  kept once }')).holds
    assert (kept.setup_copies, kept.setup_growth, kept.bench_copies) == (2, 1, 0)
    trimmed = product_of(followed_by(_TRIM)).holds
    assert (trimmed.bench_copies, trimmed.bench_growth, trimmed.if_lost) == (2, 1, IfLost.MUTE)
    assert trimmed.setup_copies == 0
    assert (kept.chosen, trimmed.chosen) == (("setup",), ("bench",))
    measured = product_of(changed("adc 10 bits", "adc 10 bits  measured")).holds
    assert (measured.bench_copies, measured.bench_growth) == (2, 1)


def test_setup_and_bench_that_are_said_and_not_needed_stay() -> None:
    holds = product_of(_holds(f"{_LINE}  bench 3 copies  setup 4 copies")).holds
    assert (holds.bench_copies, holds.setup_copies) == (3, 4)


@pytest.mark.parametrize(("lines", "chosen"), [
    (_LINE, ()),
    ("identity serial 4 characters  presets 2 slots spare 1  state 4 copies", ("identity",)),
    ("state 2 copies  bench if lost mute  identity 1 copy  presets spare 1 2 slots", ("bench",)),
    (f"{_LINE}  setup saves 3 per day", ("setup",)),
    ("identity 2 copies  presets 2 slots saves 9 per day  state 4 copies", ("presets",)),
    ("identity 2 copies  presets 2 slots spare 1  state growth 0 bytes saves 1 per day", ("state",)),
    ("state  presets 1 slot  setup  identity  bench", ("identity", "bench", "setup", "presets", "state")),
])
def test_copies_and_spare_that_are_left_out_are_left_open(lines: str, chosen: tuple[str, ...]) -> None:
    assert product_of(_holds(lines)).holds.chosen == chosen


@pytest.mark.parametrize("kind", ["identity", "presets", "state"])
def test_what_has_to_be_said(kind: str) -> None:
    lines = "  ".join(line for line in _LINE.split("  ") if not line.startswith(kind))
    found = only(_holds(lines))
    assert found.rule.name == "unsaid"
    assert found.try_.startswith(kind)
    assert stops(_holds(f"{lines}  {found.try_}")) == []


def test_presets_say_their_slots() -> None:
    found = only(_holds("identity  presets spare 1  state"))
    assert found.rule.name == "unsaid"
    assert "slots" in found.sentence


@pytest.mark.parametrize(("store", "part", "belongs"), [
    ("identity 2 copies", "growth 1 byte", "bench, setup, presets and state"),
    ("identity 2 copies", "4 slots", "presets"),
    ("presets 2 slots spare 1", "2 copies", "identity, bench, setup and state"),
    ("presets 2 slots spare 1", "if lost mute", "bench"),
    ("state 4 copies", "serial 8 characters", "identity"),
    ("state 4 copies", "names 8 bytes", "presets"),
    ("state 4 copies", "spare 1", "presets"),
])
def test_a_part_stands_with_its_kind(store: str, part: str, belongs: str) -> None:
    found = only(changed(store, f"{store} {part}"))
    assert found.rule.name == "misplaced"
    assert found.sentence.endswith(f"it belongs to {belongs}.")


def test_a_kind_and_a_part_are_said_once() -> None:
    assert told(_holds(f"{_LINE}  state 2 copies")) == ["said-twice"]
    assert told(_holds(_LINE + " 2 copies")) == ["said-twice"]


@pytest.mark.parametrize(("old", "new", "rules"), [
    ("identity 2 copies", "identity 0 copies", ["out-of-bounds"]),
    ("identity 2 copies", "identity 255 copies", []),
    ("identity 2 copies", "identity 256 copies", ["out-of-bounds"]),
    ("state 4 copies", "state 1 copy", ["out-of-bounds"]),
    ("state 4 copies", "state 2 copies", []),
    ("state 4 copies", "setup 1 copy  state 4 copies", ["out-of-bounds"]),
    ("state 4 copies", "bench 0 copies  state 4 copies", ["out-of-bounds"]),
    ("identity 2 copies", "identity 2 copies serial 0 characters", ["out-of-bounds"]),
    ("identity 2 copies", "identity 2 copies serial 32 characters", []),
    ("identity 2 copies", "identity 2 copies serial 33 characters", ["out-of-bounds"]),
    ("presets 2 slots spare 1", "presets 0 slots spare 1", ["out-of-bounds"]),
    ("presets 2 slots spare 1", "presets 2 slots spare 0", ["out-of-bounds"]),
    ("presets 2 slots spare 1", "presets 254 slots spare 1", []),
    ("presets 2 slots spare 1", "presets 254 slots spare 2", ["too-many-places"]),
    ("presets 2 slots spare 1", "presets 255 slots", ["too-many-places"]),
    ("spare 1", "spare 1 names 64 bytes", []),
    ("spare 1", "spare 1 names 65 bytes", ["out-of-bounds"]),
    ("spare 1", "spare 1 growth 255 bytes", []),
    ("spare 1", "spare 1 growth 256 bytes", ["out-of-bounds"]),
    ("spare 1", "spare 1 saves 0 per day", ["out-of-bounds"]),
    ("spare 1", "spare 1 saves 86_400 per day", []),
    ("spare 1", "spare 1 saves 86_401 per day", ["out-of-bounds"]),
    ("presets 2 slots", f"presets {'9' * 40} slots", ["out-of-bounds"]),
])
def test_bounds(old: str, new: str, rules: list[str]) -> None:
    assert told(changed(old, new)) == rules


def test_a_unit_does_not_play_on_without_a_trim_that_has_a_safe_value() -> None:
    lost = changed(_LINE, f"{_LINE}  bench if lost play") + _TRIM
    found = only(lost)
    assert found.rule.name == "play-with-safe-trim"
    assert 'Trim "Bias"' in found.sentence
    assert told(lost.replace("safe -10 %", "")) == []
    assert told(lost.replace("if lost play", "if lost bypass")) == []


def test_presets_are_checked_beside_a_holds_block_that_is_wrong() -> None:
    text = _holds("identity  presets 0 slots  state") + 'preset 1 "One" { level 101 % }\n'
    assert told(text) == ["out-of-bounds", "value-outside-range"]
