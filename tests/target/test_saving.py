"""Saving on the chips that are claimed, through real drivers, across resets and cuts between two writes.

Cuts inside a write are tried on the host, in tests/faults. Here the very code runs that a pedal has,
descriptors in flash included. simavr's memory is never busy: what writing takes there, 3.4 ms a byte by the
data sheet, is to be added by arithmetic. The part of pages is busy after each write.
"""

from __future__ import annotations

import random
import re
import subprocess
from pathlib import Path

import pytest

from tests.faults.campaign import PRODUCTS
from tests.stories import text_of
from tests.target.chips import CHIPS, arm_object, avr_object, symbol_sizes
from tests.target.emitted import emit, layout_of
from tests.target.independent import Reader
from tests.target.memories import factory_memory
from tests.target.products import ALL
from tests.target.saving_unit import BENCH, DEEDS, Unit, asked, heard, owned, trims_asked, unit

pytestmark = pytest.mark.slow

ANY, RESET_LOOK, RESET_SLOT = DEEDS.index("ANY"), DEEDS.index("RESET_LOOK"), DEEDS.index("RESET_SLOT")
SOUND = "0"
chip_of = {chip.name: chip for chip in CHIPS}


def play(it: Unit, runs: int, deeds: int, most_writes: int) -> tuple[int, int]:
    """Runs that each end between two writes, in one memory: how many deeds came through, how many did not."""
    chance = random.Random(it.emitted.name)
    file = it.emitted.file
    memory = factory_memory(file)
    before, bench = heard(file, memory), owned(file, memory)
    through = cut = 0
    for _ in range(runs):
        writes = chance.randrange(1, most_writes)
        memory, said = it.run(memory, chance.randrange(256), writes & 255, writes >> 8, deeds, ANY)
        while said:
            word, slot, seed = said.pop(0)
            after = asked(it.emitted, before, word, int(slot), int(seed))
            if said:
                answer = said.pop(0)
                assert answer[:2] == ["done", SOUND], (word, slot, answer)
                before = after
                through += 1
            else:
                now = heard(file, memory)
                assert now in (before, after), (word, slot, memory.hex())
                before = now
                cut += 1
        assert heard(file, memory) == before
        assert owned(file, memory) == bench
    return through, cut


@pytest.mark.slow
@pytest.mark.needs("avr-gcc", "simavr")
@pytest.mark.parametrize("product", ["bytes", "teasel_pinch"])
def test_the_chips_own_eeprom_keeps_old_or_new(product: str, tmp_path: Path) -> None:
    text = PRODUCTS.get(product) or text_of(product)
    it = unit(emit(layout_of(text), tmp_path), chip_of["atmega328p"], "drive_eeprom", "exercise")
    through, cut = play(it, runs=40, deeds=8, most_writes=110)
    print(f"\n{product} on the ATmega328P: {through} saves came through, {cut} were cut off")
    assert through > 40 and cut > 12


@pytest.mark.slow
@pytest.mark.needs("gcc", "arm-gcc", "qemu")
@pytest.mark.parametrize("chip", ["host-gcc", "cortex-m0"])
@pytest.mark.parametrize("product", ["pages", "short"])
def test_a_part_of_pages_that_is_busy_keeps_old_or_new(chip: str, product: str, tmp_path: Path) -> None:
    emitted = emit(layout_of(PRODUCTS[product], trial=False), tmp_path)
    it = unit(emitted, chip_of[chip], "drive_part", "exercise")
    through, cut = play(it, runs=30, deeds=6, most_writes=40)
    print(f"\n{product} on {chip}: {through} saves came through, {cut} were cut off")
    assert through > 30 and cut > 10


@pytest.mark.needs("gcc")
@pytest.mark.parametrize("product", sorted(PRODUCTS))
@pytest.mark.parametrize("deed", [RESET_SLOT, RESET_LOOK])
def test_resets_touch_neither_trims_nor_serial(product: str, deed: int, tmp_path: Path) -> None:
    emitted = emit(layout_of(PRODUCTS[product]), tmp_path)
    bench = unit(emitted, chip_of["host-gcc"], "drive_part", "bench")
    memory = factory_memory(emitted.file)
    for at, _ in enumerate(BENCH[:2]):
        memory, said = bench.run(memory, 7, 0, 0, len(DEEDS) + at)
        assert said == [[SOUND]]
    stamped = owned(emitted.file, memory)
    it = unit(emitted, chip_of["host-gcc"], "drive_part", "exercise")
    memory, _ = it.run(memory, 3, 0, 0, 9, ANY)
    memory, _ = it.run(memory, 3, 0, 0, 1, DEEDS.index("SAVE_PRESET"))  # of the slot that is reset below
    changed = heard(emitted.file, memory)
    memory, said = it.run(memory, 3, 0, 0, 1, deed)
    assert said[-1][:2] == ["done", SOUND]
    assert heard(emitted.file, memory) == asked(emitted, changed, *_deed(said[0])) != changed
    assert owned(emitted.file, memory) == stamped


def _deed(words: list[str]) -> tuple[str, int, int]:
    return words[0], int(words[1]), int(words[2])


# ---- the bench


@pytest.mark.needs("gcc")
@pytest.mark.parametrize("product", sorted(PRODUCTS))
@pytest.mark.parametrize("what", BENCH)
def test_the_bench_writes_its_mirrors_one_after_the_other(product: str, what: str, tmp_path: Path) -> None:
    emitted = emit(layout_of(PRODUCTS[product], trial=product != "scant"), tmp_path)
    file, it = emitted.file, unit(emitted, chip_of["host-gcc"], "drive_part", "bench")
    look = len(owned(file, b"\0" * file["product"]["chip"]["size"]))
    first, _ = it.run(factory_memory(file), 7, 0, 0, len(DEEDS))
    first, _ = it.run(first, 7, 0, 0, len(DEEDS) + 1)
    done, said = it.run(first, 9, 0, 0, len(DEEDS) + BENCH.index(what))
    assert said == [[SOUND]] and done != first
    old, new = _of_bench(file, first), _of_bench(file, done)
    others = {"BENCH_TRIMS": {"identity"}, "BENCH_IDENTITY": {"bench"}, "BENCH_ALL": set[str]()}
    kinds = {"bench", "identity"} - others[what]
    assert {kind for kind in new if new[kind] != old[kind]} == kinds
    if what == "BENCH_TRIMS":
        assert new["bench"] == trims_asked(emitted, 9)
    if what == "BENCH_ALL":
        assert new == _of_bench(file, factory_memory(file))
    for kind in kinds:
        assert all(place.good and place.values == new[kind] for place in Reader(file, done).places(kind))
    assert done[look:] == first[look:]
    # Saved again it writes nothing.
    assert it.run(done, 9, 1, 0, len(DEEDS) + BENCH.index(what)) == (done, [[SOUND]])
    writes = 0
    while True:
        writes += 1
        cut, said = it.run(first, 9, writes & 255, writes >> 8, len(DEEDS) + BENCH.index(what))
        if said:
            break
        reader = Reader(file, cut)
        assert cut[look:] == first[look:]
        for kind in new:
            values = reader.codes(kind)[1]
            assert values in (old[kind], new[kind]), (writes, kind)
            assert any(place.good for place in reader.places(kind))
        # The save that is asked for again goes through, and mends what the cut left.
        again, said = it.run(cut, 9, 0, 0, len(DEEDS) + BENCH.index(what))
        assert said == [[SOUND]] and _of_bench(file, again) == new
        for kind in kinds:
            assert all(place.good and place.values == new[kind] for place in Reader(file, again).places(kind))
    assert cut == done
    assert writes > 6  # both mirrors: seal, body, checksum


def _of_bench(file: dict[str, object], memory: bytes) -> dict[str, dict[str, int]]:
    reader = Reader(file, memory)
    return {kind: reader.number(kind).values for kind in ("identity", "bench")}


@pytest.mark.needs("avr-gcc", "simavr")
def test_the_bench_writes_on_the_chip(tmp_path: Path) -> None:
    emitted = emit(layout_of(PRODUCTS["bytes"]), tmp_path)
    it = unit(emitted, chip_of["atmega328p"], "drive_eeprom", "bench")
    memory, said = it.run(factory_memory(emitted.file), 9, 0, 0, len(DEEDS))
    assert said == [[SOUND]]
    assert _of_bench(emitted.file, memory)["bench"] == trims_asked(emitted, 9)


# ---- who reaches what


def undefined(obj: Path, nm: str) -> set[str]:
    lines = subprocess.run([nm, "--undefined-only", obj], capture_output=True, text=True, check=True).stdout
    return {line.split()[-1] for line in lines.splitlines()}


@pytest.mark.needs("avr-gcc", "arm-gcc")
@pytest.mark.parametrize("product", sorted(ALL))
def test_what_saves_the_look_and_what_saves_for_the_bench_do_not_reach_one_another(
    product: str, tmp_path: Path
) -> None:
    emitted = emit(layout_of(ALL[product]), tmp_path)
    prefix = emitted.layout.product.prefix
    bench_source = tmp_path / f"{emitted.name}_bench.c"
    for nm, field, bench in (
        ("avr-nm", avr_object(emitted.source, [tmp_path]), avr_object(bench_source, [tmp_path])),
        (
            "arm-none-eabi-nm",
            arm_object(emitted.source, "cortex-m0", [tmp_path]),
            arm_object(bench_source, "cortex-m0", [tmp_path]),
        ),
    ):
        # The field's file needs nothing of the bench's and has nothing like it; the bench's needs a default.
        assert not any(name.startswith(f"{prefix}_") for name in undefined(field, nm))
        assert not any(name.startswith(f"{prefix}_bench") for name in symbol_sizes(field))
        ours = {name for name in undefined(bench, nm) if name.startswith(f"{prefix}_")}
        assert ours == ({f"{prefix}_nominal_trims"} if emitted.has("bench") else set())
        assert not any(re.fullmatch(rf"{prefix}_(save|reset)_\w+", name) for name in symbol_sizes(bench))


@pytest.mark.parametrize("product", sorted(ALL))
def test_the_places_of_one_owner_are_not_in_the_writers_of_the_other(product: str, tmp_path: Path) -> None:
    emitted = emit(layout_of(ALL[product]), tmp_path)
    places = {record["kind"]: record["places"] for record in emitted.file["records"]}
    text = (tmp_path / f"{emitted.name}_bench.c").read_text(encoding="utf-8")
    table = re.search(r"_places\[\] = \{(.*?)\}", text, re.DOTALL)
    assert table is not None
    written = [int(number) for number in re.findall(r"(\d+)u", table[1])]
    assert written == places["identity"] + places.get("bench", [])
    # The one function that writes the look counts its places from the first of them.
    source = emitted.source.read_text(encoding="utf-8")
    prefix = emitted.layout.product.prefix
    assert source.count("driver.write(") == 1
    writer = source[source.index(f"static {prefix}_answer {prefix}_put_down(") :].partition("\n}\n")[0]
    assert f"{prefix}_places[{prefix.upper()}_LOOK_ + store->to]" in writer
    bench_places = len(places["identity"]) + len(places.get("bench", []))
    assert f"#define {prefix.upper()}_LOOK_ {bench_places}u\n" in source
