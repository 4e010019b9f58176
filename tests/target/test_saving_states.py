"""What a save leaves behind at each of its steps: lines of the table of states in paramc/layout/FORMAT.md."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pytest

from tests.faults.campaign import PRODUCTS
from tests.target.chips import CHIPS
from tests.target.emitted import emit, layout_of
from tests.target.independent import Reader, Values, write
from tests.target.memories import factory_memory
from tests.target.saving_unit import DEEDS, Unit, asked, heard, unit

pytestmark = pytest.mark.needs("gcc")

SAVE, RESET = DEEDS.index("SAVE_PRESET"), DEEDS.index("RESET_LOOK")
NEWER, SOUND = "2", "0"
SEED = 3  # of a save of preset 1
OTHER = 4  # of a save of another preset


@dataclass(frozen=True)
class Pool:
    """A unit with four presets in five places, written byte by byte and blank with zeros: all steps write."""

    it: Unit
    new: bytes

    @property
    def file(self) -> Mapping[str, Any]:
        return self.it.emitted.file

    @property
    def places(self) -> list[int]:
        return next(list(record["places"]) for record in self.file["records"] if record["kind"] == "presets")

    @property
    def body(self) -> int:
        """Bytes before the checksum, each a write."""
        length = next(record["length"] for record in self.file["records"] if record["kind"] == "presets")
        return int(length - self.file["product"]["chip"]["checksum"]["width"] // 8)

    def after(self, writes: int, memory: bytes | None = None) -> bytes:
        """The memory where power went after so many writes of a save of preset 1."""
        cut, said = self.it.run(memory or self.new, SEED, writes & 255, writes >> 8, 1, SAVE)
        assert [words[0] for words in said] == ["presets"], "the save was through before"
        assert said[0][1] == "0"
        return cut

    def preset_1(self, memory: bytes) -> Values:
        return heard(self.file, memory)["presets", 0]

    def states(self, memory: bytes) -> tuple[str, str]:
        """Of the place that preset 1 had, and of the spare one."""
        reader = Reader(self.file, memory)
        return reader.place("presets", self.places[0]).state, reader.place("presets", self.places[4]).state

    def asked(self) -> Values:
        said = self.it.run(self.new, SEED, 0, 0, 1, SAVE)[1]
        return asked(self.it.emitted, heard(self.file, self.new), "presets", 0, int(said[0][2]))["presets", 0]

    def others(self, memory: bytes) -> list[Values]:
        return [values for at, values in heard(self.file, memory).items() if at != ("presets", 0)]


@pytest.fixture(scope="module")
def pool(tmp_path_factory: pytest.TempPathFactory) -> Pool:
    emitted = emit(layout_of(PRODUCTS["scant"], trial=False), tmp_path_factory.mktemp("scant"))
    chip = next(chip for chip in CHIPS if chip.name == "host-gcc")
    return Pool(unit(emitted, chip, "drive_part", "exercise"), factory_memory(emitted.file))


def test_an_equal_value_writes_nothing(pool: Pool) -> None:
    once, _ = pool.it.run(pool.new, SEED, 0, 0, 1, SAVE)
    assert once != pool.new
    # The supply would fail at the first write.
    again, said = pool.it.run(once, SEED, 1, 0, 1, SAVE)
    assert again == once and said[-1][:2] == ["done", SOUND]


def test_looking_writes_nothing(pool: Pool) -> None:
    first = pool.after(1)
    changed = [at for at, (a, b) in enumerate(zip(pool.new, first, strict=True)) if a != b]
    # The first write of all is the seal of the place that was found to be free.
    assert changed == [pool.places[4] + pool.body] and first[changed[0]] == 0xFF


def test_a_broken_seal_leaves_the_old_value(pool: Pool) -> None:
    cut = pool.after(1)
    assert pool.states(cut) == ("sound", "damaged")
    assert heard(pool.file, cut) == heard(pool.file, pool.new)


def test_a_body_without_its_checksum_leaves_the_old_value(pool: Pool) -> None:
    for writes in range(2, 2 + pool.body):
        cut = pool.after(writes)
        assert pool.states(cut) == ("sound", "damaged")
        assert heard(pool.file, cut) == heard(pool.file, pool.new)


def test_the_last_byte_of_the_checksum_is_the_commit(pool: Pool) -> None:
    half, whole = pool.after(2 + pool.body), pool.after(3 + pool.body)
    assert pool.states(half) == ("sound", "damaged")
    assert heard(pool.file, half) == heard(pool.file, pool.new)
    assert pool.states(whole) == ("sound", "sound")
    assert pool.preset_1(whole) == pool.asked() != pool.preset_1(pool.new)
    assert pool.others(whole) == pool.others(pool.new)


def test_retiring_leaves_one_copy(pool: Pool) -> None:
    cut = pool.after(4 + pool.body)
    assert pool.states(cut) == ("damaged", "sound")
    assert pool.preset_1(cut) == pool.asked()
    changed = {at for at, (a, b) in enumerate(zip(pool.after(3 + pool.body), cut, strict=True)) if a != b}
    assert changed == {pool.places[0] + pool.body}


def test_a_copy_that_a_cut_left_over_makes_room(pool: Pool) -> None:
    """Preset 1 takes up two of five places: none is free for another until its older copy is retired."""
    full = pool.after(3 + pool.body)
    after, said = pool.it.run(full, OTHER, 0, 0, 1, SAVE)
    slot = int(said[0][1])
    assert slot != 0 and said[1][:2] == ["done", SOUND]
    assert pool.states(after)[1] == "sound" and pool.preset_1(after) == pool.asked()
    good = [place for place in Reader(pool.file, after).places("presets") if place.good]
    assert sorted(place.values["slot"] for place in good) == [0, 1, 2, 3]
    # Cut at any write of it: all that played before plays, and the other preset as before or as asked.
    was, now = heard(pool.file, full), heard(pool.file, after)
    for writes in range(1, 6 + pool.body):
        cut = heard(pool.file, pool.it.run(full, OTHER, writes, 0, 1, SAVE)[0])
        assert cut in (was, now)


def test_a_later_revision_stops_all_saves_until_the_reset(pool: Pool) -> None:
    memory = bytearray(pool.new)
    values = heard(pool.file, pool.new)["presets", 2]
    ahead = write(pool.file, "presets", pool.places[2], values, 9, revision=2)
    memory[pool.places[2] : pool.places[2] + len(ahead)] = ahead
    kept, said = pool.it.run(bytes(memory), SEED, 1, 0, 1, SAVE)
    assert kept == memory and said[-1][:2] == ["done", NEWER]
    reset, said = pool.it.run(kept, SEED, 0, 0, 1, RESET)
    assert said[-1][:2] == ["done", SOUND]
    reader = Reader(pool.file, reset)
    assert reader.unit() == "sound"
    assert heard(pool.file, reset) == {at: reader.factory(*at) for at in heard(pool.file, reset)}


def test_a_reset_that_is_cut_off_leaves_each_number_old_or_as_new(pool: Pool) -> None:
    played, _ = pool.it.run(pool.new, SEED, 0, 0, 9, DEEDS.index("ANY"))
    old = heard(pool.file, played)
    factory = {at: Reader(pool.file, played).factory(*at) for at in old}
    seen = set()
    writes = 0
    while True:
        writes += 1
        cut, said = pool.it.run(played, SEED, writes & 255, writes >> 8, 1, RESET)
        now = heard(pool.file, cut)
        assert all(now[at] in (old[at], factory[at]) for at in old)
        assert Reader(pool.file, cut).unit() == "sound"
        seen.add(sum(now[at] == factory[at] for at in old))
        if len(said) == 2:
            break
    assert now == factory and len(seen) > 2
