"""Firmware on memories that earlier revisions have saved in, value for value what the host makes of them."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from paramc.image.reading import Loaded, flatten, read_image
from paramc.layout.layout import Layout
from tests.stories import REVISIONS, story
from tests.target.chips import Chip, avr_object, host, on_every_chip, run_host_board, size
from tests.target.dump import dump_program, expected
from tests.target.emitted import Emitted, emit
from tests.target.memories import random_memory
from tests.target.older import file_of, reader_of

pytestmark = pytest.mark.slow

UNITS = Path(__file__).parents[1] / "cases" / "revisions"
MIXED = 40
LATER = {name: last for name, last in REVISIONS.items() if last > 1}
products = pytest.mark.parametrize("name", LATER)


def layouts(name: str) -> tuple[Layout, ...]:
    return tuple(release.layout for release in story(name))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Emitted]:
    """The last revision of every product, which reads all the others."""
    top = tmp_path_factory.mktemp("older")
    return {name: emit(layouts(name)[-1], top / name, layouts(name)[:-1]) for name in LATER}


def unit(name: str, revision: int) -> bytes:
    """The unit of a revision that is kept: measured, played and saved."""
    loaded = read_image((UNITS / f"{name}.r{revision}.hex").read_bytes())
    assert isinstance(loaded, Loaded)
    chip = layouts(name)[revision - 1].product.chip
    return flatten(loaded.chunks, chip.hex_at, chip.size, chip.blank).data


def mixed(emitted: Emitted, chance: random.Random) -> bytes:
    """Every place as some revision may have left it, cut, flipped or sound."""
    every = (*emitted.before, emitted.layout)
    files = [file_of(layout) for layout in every]
    memories = [random_memory(file, chance) for file in files]
    memory = bytearray(memories[-1])
    for record in emitted.layout.records:
        for place in record.places:
            source = chance.choice(memories)
            memory[place : place + record.place_bytes] = source[place : place + record.place_bytes]
    return bytes(memory)


@products
@on_every_chip
def test_every_chip_reads_the_units_of_every_revision(
    chip: Chip, name: str, made: dict[str, Emitted]
) -> None:
    emitted = made[name]
    memories = [unit(name, revision) for revision in range(1, LATER[name] + 1)]
    if chip.name == "atmega328p":
        memories = memories[: 1024 // len(memories[0])]
        if not memories:
            avr_object(emitted.source, [emitted.folder])
            return
    sources = [dump_program(emitted, len(memories), tables=False), emitted.source]
    program = chip.build(sources, include_dirs=[emitted.folder])
    assert chip.run(program, eeprom=b"".join(memories)).stdout == expected(emitted, memories, tables=False)


@pytest.mark.needs("gcc")
@products
def test_the_host_reads_memories_that_mix_revisions(name: str, made: dict[str, Emitted]) -> None:
    emitted = made[name]
    chance = random.Random(name)
    memories = [unit(name, revision) for revision in range(1, LATER[name] + 1)]
    memories += [mixed(emitted, chance) for _ in range(MIXED)]
    program = host([dump_program(emitted, len(memories)), emitted.source], [emitted.folder])
    got = run_host_board(program, eeprom=b"".join(memories)).stdout.splitlines()
    want = expected(emitted, memories).splitlines()
    lines = len(expected(emitted, memories[:1], tables=False).splitlines())
    for at, memory in enumerate(memories):
        assert got[at * lines : (at + 1) * lines] == want[at * lines : (at + 1) * lines], memory.hex()
    assert got == want
    # They hold what they claim to: numbers of every revision play.
    readers = [reader_of(emitted, memory) for memory in memories]
    played = {reader.number(kind, at).revision for reader in readers for kind, at in reader.numbers()}
    assert set(range(1, LATER[name] + 1)) <= played


@products
def test_units_of_earlier_revisions_answer_older_and_play(name: str, made: dict[str, Emitted]) -> None:
    for revision in range(1, LATER[name]):
        reader = reader_of(made[name], unit(name, revision))
        assert reader.unit() == "older"
        assert reader.codes("bench")[0] == "sound"
        assert all(reader.codes("presets", slot)[0] == "older" for slot in range(2))


@pytest.mark.needs("avr-gcc")
@products
def test_what_reads_them_lies_in_flash(name: str, made: dict[str, Emitted]) -> None:
    sizes = size(avr_object(made[name].source, [made[name].folder]))
    assert (sizes.data, sizes.bss) == (0, 0)
