"""Firmware on memories that earlier revisions have saved in, value for value what the host makes of them."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from paramc.layout.layout import Layout
from tests.stories import REVISIONS, story
from tests.target.chips import (
    EEPROM_SIZE,
    Chip,
    avr_object,
    for_memory,
    host,
    on_every_chip,
    run_host_board,
    size,
)  # fmt: skip
from tests.target.dump import dump_program, expected
from tests.target.emitted import Emitted, emit
from tests.target.independent import LOOK, write
from tests.target.memories import random_memory
from tests.target.older import file_of, reader_of, unit_of

pytestmark = pytest.mark.slow

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


def cut_before_the_retire(emitted: Emitted, name: str, revision: int, chance: random.Random) -> bytes:
    """A unit of an earlier revision on which this firmware has saved, cut off each time when the new copy was
    whole and the old one not retired yet: as many numbers of each kind as there are free places."""
    memory = bytearray(unit_of(name, revision))
    for kind in LOOK:
        record = next((one for one in emitted.file["records"] if one["kind"] == kind), None)
        if record is None:
            continue
        reader = reader_of(emitted, bytes(memory))
        free = [place.address for place in reader.places(kind) if not place.good]
        numbers = chance.sample(range(record["numbers"]), min(len(free), record["numbers"]))
        for number, address in zip(numbers, free, strict=False):
            old = reader.number(kind, number)
            values = {field["name"]: chance.randrange(field["codes"]) for field in record["fields"]}
            values |= {field["name"]: 0x41 for field in record["fields"] if field["kind"] == "name"}
            values |= {"slot": number} if kind == "presets" else {}
            blob = write(emitted.file, kind, address, values, (old.counter + 1) % 256)
            memory[address : address + len(blob)] = blob
    return bytes(memory)


def assert_read(emitted: Emitted, chip: Chip, memories: list[bytes]) -> None:
    """Firmware on the chip answers for each memory what the host does; as many at once as the chip holds."""
    length = len(memories[0])
    chip = for_memory(chip, length)
    room = max(1, EEPROM_SIZE // length) if chip.name == "atmega328p" else 10
    at_once = min(len(memories), room)
    program = chip.build(
        [dump_program(emitted, at_once, tables=False), emitted.source], include_dirs=[emitted.folder]
    )
    # The last ones once more where they do not come out even, so that none is left out.
    for at in (*range(0, len(memories) - at_once, at_once), len(memories) - at_once):
        some = memories[at : at + at_once]
        assert chip.run(program, eeprom=b"".join(some)).stdout == expected(emitted, some, tables=False)


@products
@on_every_chip
def test_every_chip_reads_the_units_of_every_revision(
    chip: Chip, name: str, made: dict[str, Emitted]
) -> None:
    assert_read(made[name], chip, [unit_of(name, revision) for revision in range(1, LATER[name] + 1)])


@products
@on_every_chip
def test_every_chip_reads_memories_that_mix_revisions(
    chip: Chip, name: str, made: dict[str, Emitted]
) -> None:
    """A cut before the retire among them: two copies of a number, of which the newer one plays."""
    emitted = made[name]
    chance = random.Random(name)
    earlier = range(1, LATER[name])
    memories = [cut_before_the_retire(emitted, name, revision, chance) for revision in earlier]
    for memory in memories:
        reader = reader_of(emitted, memory)
        states = {
            one: {place.state for place in reader.places(one[0]) if place.values.get("slot", 0) == one[1]}
            for one in reader.numbers()
        }
        doubled = [one for one, found in states.items() if {"sound", "older"} <= found]
        assert doubled and all(reader.number(*one).state == "sound" for one in doubled)
    memories += [mixed(emitted, chance) for _ in earlier]
    assert_read(emitted, chip, memories)


@pytest.mark.needs("gcc")
@pytest.mark.parametrize(
    ("name", "revision"), [(name, at) for name, last in LATER.items() for at in range(2, last)]
)
def test_every_revision_reads_those_before_it(name: str, revision: int, tmp_path: Path) -> None:
    """Not the last one alone, whose reading the tests above hold."""
    emitted = emit(layouts(name)[revision - 1], tmp_path, layouts(name)[: revision - 1])
    chance = random.Random(revision)
    memories = [unit_of(name, earlier) for earlier in range(1, revision + 1)]
    memories += [cut_before_the_retire(emitted, name, earlier, chance) for earlier in range(1, revision)]
    memories += [mixed(emitted, chance) for _ in range(MIXED // 4)]
    program = host([dump_program(emitted, len(memories), tables=False), emitted.source], [tmp_path])
    got = run_host_board(program, eeprom=b"".join(memories)).stdout
    assert got == expected(emitted, memories, tables=False)


@pytest.mark.needs("gcc")
@products
def test_the_host_reads_memories_that_mix_revisions(name: str, made: dict[str, Emitted]) -> None:
    emitted = made[name]
    chance = random.Random(name)
    memories = [unit_of(name, revision) for revision in range(1, LATER[name] + 1)]
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
        reader = reader_of(made[name], unit_of(name, revision))
        assert reader.unit() == "older"
        assert reader.codes("bench")[0] == "sound"
        assert all(reader.codes("presets", slot)[0] == "older" for slot in range(2))


@pytest.mark.needs("avr-gcc")
@products
def test_what_reads_them_lies_in_flash(name: str, made: dict[str, Emitted]) -> None:
    sizes = size(avr_object(made[name].source, [made[name].folder]))
    assert (sizes.data, sizes.bss) == (0, 0)
