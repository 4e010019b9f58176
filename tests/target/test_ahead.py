"""Firmware of an earlier revision on a later one's unit: it says newer, and no byte of the memory changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.stories import REVISIONS, story
from tests.target.chips import CHIPS, Chip, host, run_host_board
from tests.target.dump import ANSWERS, dump_program, expected
from tests.target.emitted import Emitted, emit
from tests.target.independent import LOOK, Reader
from tests.target.older import file_of, unit_of
from tests.target.saving_unit import unit

pytestmark = pytest.mark.slow

NEWER = str(ANSWERS.index("newer"))
PAIRS = [
    (name, old, new)
    for name, last in REVISIONS.items()
    for new in range(2, last + 1)
    for old in range(1, new)
]
"""Every product, and every revision with every later one."""

chip_of = {chip.name: chip for chip in CHIPS}
ON_CHIPS = [
    pytest.param(chip, name, id=f"{chip.name}-{name}", marks=pytest.mark.needs(*chip.needs))
    for chip in CHIPS
    for name in (["teasel_pinch", "hob_and_kiln"] if chip.name == "atmega328p" else ["long_causeway"])
]
"""Each product where its memory has room: the ATmega328P's own has 1024 bytes."""


def firmware(name: str, revision: int, folder: Path) -> Emitted:
    layouts = tuple(release.layout for release in story(name)[:revision])
    return emit(layouts[-1], folder, layouts[:-1])


def words(emitted: Emitted) -> list[str]:
    """What is asked of a unit, as the program names it."""
    slots = next(record["numbers"] for record in emitted.file["records"] if record["kind"] == "presets")
    said = [f"{word} {slot}" for slot in range(slots) for word in ("preset", "slot")]
    said.append("state 0")
    if emitted.has("setup"):
        said.append("setup 0")
    if any(field["kind"] == "end low" for field in emitted.fields("setup")):
        said.append("learn 0")
    return said


def touched(name: str, old: int, new: int) -> list[bytes]:
    """A unit of the later revision; and for each kind one of the earlier one on which the later firmware has
    saved one number of that kind and nothing else."""
    own, later = unit_of(name, old), unit_of(name, new)
    memories = [later]
    reader = Reader(file_of(story(name)[new - 1].layout), later)
    for kind in LOOK:
        if kind not in reader.records:
            continue
        place = next(place for place in reader.places(kind) if place.state == "sound")
        record = reader.records[kind]
        memory = bytearray(own)
        at = slice(place.address, place.address + record["place_bytes"])
        memory[at] = later[at]
        memories.append(bytes(memory))
    return memories


def assert_untouched(emitted: Emitted, chip: Chip, memories: list[bytes]) -> None:
    driver = "drive_eeprom" if chip.name == "atmega328p" else "drive_part"
    program = unit(emitted, chip, driver, "ahead")
    for memory in memories:
        after, said = program.run(memory)
        assert after == memory
        assert said == [
            ["unit", "0", NEWER], *([*word.split(), NEWER] for word in words(emitted)), ["writes", "0", "0"],
        ]  # fmt: skip


@pytest.mark.parametrize(("chip", "name"), ON_CHIPS)
def test_no_save_reset_or_learning_of_the_first_revision_changes_a_byte_of_the_last(
    chip: Chip, name: str, tmp_path: Path
) -> None:
    assert_untouched(firmware(name, 1, tmp_path), chip, touched(name, 1, REVISIONS[name]))


@pytest.mark.needs("gcc")
@pytest.mark.parametrize(("name", "old", "new"), PAIRS)
def test_no_revision_changes_a_byte_of_a_later_one(name: str, old: int, new: int, tmp_path: Path) -> None:
    assert_untouched(firmware(name, old, tmp_path), chip_of["host-gcc"], touched(name, old, new))


MISTAKES = {
    "saves beside a later record": (
        "    } else if ((store->notes & TP_AHEAD_) != 0u) {\n", "    } else if (0) {\n",
    ),
    "a later record counts as an earlier one": (
        "        answer = (revision < TP_REVISION) ? TP_OLDER : TP_NEWER;\n", "        answer = TP_OLDER;\n",
    ),
}  # fmt: skip
"""Firmware made wrong on purpose, as pieces of its C: from and to."""


@pytest.mark.needs("gcc")
@pytest.mark.parametrize("mistake", MISTAKES)
def test_firmware_that_would_save_is_found_out(mistake: str, tmp_path: Path) -> None:
    emitted = firmware("teasel_pinch", 1, tmp_path)
    old, new = MISTAKES[mistake]
    text = emitted.source.read_text(encoding="utf-8")
    assert text.count(old) == 1
    emitted.source.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(AssertionError):
        assert_untouched(emitted, chip_of["host-gcc"], touched("teasel_pinch", 1, 2))


@pytest.mark.needs("gcc")
@pytest.mark.parametrize(("name", "old", "new"), PAIRS)
def test_what_a_later_revision_saved_plays_as_the_factory_has_it(
    name: str, old: int, new: int, tmp_path: Path
) -> None:
    """And what stands beside it of the earlier revision plays as ever."""
    emitted = firmware(name, old, tmp_path)
    memories = touched(name, old, new)
    program = host([dump_program(emitted, len(memories), tables=False), emitted.source], [tmp_path])
    got = run_host_board(program, eeprom=b"".join(memories)).stdout
    assert got == expected(emitted, memories, tables=False)
    for memory in memories:
        reader = Reader(emitted.file, memory)
        answers = {reader.codes(*one)[0] for one in reader.numbers() if one[0] in LOOK}
        assert reader.unit() == "newer"
        assert "newer" in answers
