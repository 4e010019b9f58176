"""A third release: ways that went, a bench and places that came later, on every chip as on the host.

A way that goes leaves a code that is not in use. Only foreign hands store one: it plays as the default, the
rest of its record stands, and look_ok names the item.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

import pytest

from paramc.image.convert import move
from paramc.image.factory import factory_image, factory_values
from paramc.image.older import old_records, today
from paramc.layout.layout import FieldKind, Kind, Layout
from paramc.model.items import Selector
from tests.faults.campaign import build, played, run, subject
from tests.released import released
from tests.target.chips import Chip, avr_object, host, on_every_chip, run_host_board, size
from tests.target.dump import dump_program, expected
from tests.target.emitted import Emitted, emit
from tests.target.independent import LOOK, Reader, write
from tests.target.memories import factory_memory
from tests.target.older import file_of, reader_of

FIRST = """
product gate_post "Gate Post" {
  code 0x4750  prefix gp  revision 1  hardware "A"  wakes as it was
  supply 9 V dc centre negative 20 mA  inside low voltage
}
chip { size 512 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V }
holds {
  identity 2 copies  serial 4 characters
  setup 2 copies  growth 2 bytes
  presets 3 slots  spare 1  growth 3 bytes  names 4 bytes
  state 2 copies  growth 3 bytes
}
param depth "Depth" { range 10 ms .. 400 ms  step 2 ms  default 40 ms }
selector shape "Shape" { way round "Round"  way edge "Edge"  way odd "Odd"  default edge  engine u8 }
selector lamp "Lamp" { way dark "Dark"  way dim "Dim"  way full "Full"  default dim  kept once }
flag tail "Tail" { default on }
midi { channel 1  cc 20 sets depth }
preset 1 "Near" { depth 20 ms  shape odd }
"""
BIAS = """trim bias "Bias" {
  range 0 counts .. 50 counts  step 1 counts  nominal 9 counts  since 2 formerly 9 counts
}"""
MIX = 'param mix "Mix" { range 0 % .. 60 %  step 1 %  default 50 %  since 3 formerly 7 % }'
SECOND = (
    ("revision 1", "revision 2"),
    # A way that goes, and one that comes behind all that ever were.
    ('way edge "Edge"  way odd "Odd"', 'way odd was edge "Odd"  way fold "Fold"'),
    ("default edge", "default odd"),
    ("  state 2 copies  growth 3 bytes", "  state 3 copies  growth 3 bytes  bench 2 copies  if lost play"),
    ("flag tail", f"{BIAS}\nflag tail"),
)
THIRD = (
    ("revision 2", "revision 3"),
    ('way dim "Dim"  way full "Full"  default dim', 'way full was dim "Full"  default full'),
    ("setup 2 copies", "setup 3 copies"),
    ("spare 1", "spare 2"),
    ("step 2 ms", "step 5 ms"),
    ("default 40 ms }", "default 45 ms }"),
    ("flag tail", f"{MIX}\nflag tail"),
)


def texts() -> list[str]:
    made = [FIRST]
    for changes in (SECOND, THIRD):
        text = made[-1]
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        made.append(text)
    return made


@pytest.fixture(scope="module")
def layouts() -> tuple[Layout, ...]:
    return released(texts())


@pytest.fixture(scope="module")
def made(layouts: tuple[Layout, ...], tmp_path_factory: pytest.TempPathFactory) -> Emitted:
    """The third revision, which reads the two before it."""
    return emit(layouts[-1], tmp_path_factory.mktemp("third"), layouts[:-1])


def test_the_ways_leave_codes_and_what_came_stands_behind_the_look(layouts: tuple[Layout, ...]) -> None:
    first, _, third = layouts
    shape, lamp = third.product.item("shape"), third.product.item("lamp")
    assert isinstance(shape, Selector) and isinstance(lamp, Selector)
    assert (shape.places, lamp.places) == ((0, 2, 3), (0, 2))
    bench, state = third.record(Kind.BENCH), first.record(Kind.STATE)
    assert bench is not None and state is not None
    assert min(bench.places) > max(state.places)
    for kind, more in ((Kind.SETUP, 1), (Kind.PRESETS, 1), (Kind.STATE, 1)):
        was, now = first.record(kind), third.record(kind)
        assert was is not None and now is not None
        assert now.places[: len(was.places)] == was.places
        assert len(now.places) == len(was.places) + more and now.length == was.length


@pytest.mark.parametrize("of", [0, 1])
def test_every_code_in_c_is_what_the_host_makes_of_it(layouts: tuple[Layout, ...], of: int) -> None:
    """Those of ways that went among them, and those behind the last."""
    old, new = layouts[of], layouts[-1]
    records = {record.kind: record for record in old_records(new, [old])}
    stays = (FieldKind.SLOT, FieldKind.NAME, FieldKind.SERIAL)
    tried = 0
    for kind, record in records.items():
        was, now = old.record(kind), new.record(kind)
        assert was is not None and now is not None
        factory = factory_values(old, was)
        for at, field in enumerate(was.fields):
            if field.kind is not FieldKind.ITEM:
                continue
            for code in range(1 << field.width):
                values = (*factory[:at], code, *factory[at + 1 :])
                moved, _ = move(old, new, kind, values, 0)
                wanted = {
                    (one.name, one.kind): value
                    for one, value in zip(now.fields, moved, strict=True)
                    if one.kind not in stays
                }
                kept = [one for one, it in zip(values, was.fields, strict=True) if it.kind not in stays]
                assert {(name, it): value for name, it, value in today(record, kept)} == wanted
                tried += 1
    assert tried > 200


def memories(made: Emitted) -> list[bytes]:
    """Units of each revision, one of all codes of each selector, and mixes of the revisions."""
    chance = random.Random(5)
    every = [*made.before, made.layout]
    units = [factory_image(layout) for layout in every]
    ways = [unit_of_ways(layout, code) for layout in every for code in range(4)]
    mixes = []
    for _ in range(12):
        sources = [*units, *ways]
        memory = bytearray(units[-1])
        for record in made.layout.records:
            for place in record.places:
                source = chance.choice(sources)
                memory[place : place + record.place_bytes] = source[place : place + record.place_bytes]
        mixes.append(bytes(memory))
    return [*units, *ways, *mixes]


def unit_of_ways(layout: Layout, code: int) -> bytes:
    """A unit whose selectors all have a code, in use or not."""
    file = file_of(layout)
    memory = bytearray(factory_memory(file))
    reader = Reader(file, bytes(memory))
    for record in file["records"]:
        if record["kind"] not in LOOK:
            continue
        for number in range(record["numbers"]):
            address = record["places"][number]
            values = reader.factory(record["kind"], number)
            values |= {name: code for name in ("shape", "lamp") if name in values}
            blob = write(file, record["kind"], address, values, 5)
            memory[address : address + len(blob)] = blob
    return bytes(memory)


@pytest.mark.slow
@on_every_chip
def test_every_chip_reads_units_of_all_three(chip: Chip, made: Emitted) -> None:
    every = memories(made)
    at_once = 2
    program = chip.build(
        [dump_program(made, at_once, tables=False), made.source], include_dirs=[made.folder]
    )
    some = every if chip.name == "host-gcc" else every[::3]
    for at in range(0, len(some) - at_once + 1, at_once):
        pair = some[at : at + at_once]
        assert chip.run(program, eeprom=b"".join(pair)).stdout == expected(made, pair, tables=False)


@pytest.mark.needs("gcc")
def test_the_host_reads_units_of_all_three(made: Emitted) -> None:
    every = memories(made)
    program = host([dump_program(made, len(every)), made.source], [made.folder])
    assert run_host_board(program, eeprom=b"".join(every)).stdout == expected(made, every)


def test_a_way_that_went_plays_as_the_default_and_is_named(made: Emitted) -> None:
    """What is expected of the C above is this, in its own revision and in the second."""
    second, third = made.before[1], made.layout
    reader = reader_of(made, unit_of_ways(third, 1))
    state, values, replaced = reader.codes("presets", 1)
    assert (state, values["shape"], replaced) == ("sound", 2, "shape")
    assert reader.codes("setup")[1:] == ({"lamp": 2}, "lamp")
    state, values, replaced = reader_of(made, unit_of_ways(second, 1)).codes("presets", 1)
    assert (state, values["shape"], replaced) == ("older", 2, "shape")
    # In the second revision the lamp still has its way dim, which full took over.
    assert reader_of(made, unit_of_ways(second, 1)).codes("setup")[1:] == ({"lamp": 2}, None)


SETS = """
#include "gate_post.h"
#include "board.h"

static @_answer reading(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    (void)context;
    board_eeprom_read(address, to, length);
    return @@_OK;
}

static @_answer writing(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    (void)context;
    board_eeprom_write(address, from, length);
    return @@_OK;
}

int main(void)
{
    static @_store store;
    @_driver driver;
    @_look look;
    uint8_t dump[@@_DUMP];
    char name[5];
    uint8_t slot;
    uint16_t code;
    driver.read = reading;
    driver.write = writing;
    driver.context = 0;
    @_open(&store, &driver);
    while (@_open_step(&store) == @@_MORE) {
    }
    @_factory_setup(&look);
    @_factory_state(&look);
    for (code = 0u; code < 5u; code++) {
        board_print_u32(@_set(&look, @@_ITEM_SHAPE, code));
    }
    board_putchar(' ');
    look.shape = 1u;
    board_print_u32(@_look_ok(&store, &look) == @@_ITEM_SHAPE);
    board_print_u32(@_save_preset(&store, 0u, &look, "A") == @@_RANGE);
    board_print_u32(@_save_state(&store, &look) == @@_RANGE);
    look.shape = 3u;
    look.lamp = 1u;
    board_print_u32(@_save_setup(&store, &look) == @@_RANGE);
    board_print_u32(@_save_preset(&store, 0u, &look, "A") == @@_OK);
    board_putchar(' ');
    for (code = 0u; code < 5u; code++) {
        look.shape = (uint8_t)code;
        @_dump_write(0u, &look, "A", dump);
        board_print_u32(@_dump_read(dump, @@_DUMP, &slot, &look, name) == @@_SOUND);
    }
    return 0;
}
"""


@pytest.mark.slow
@on_every_chip
def test_a_way_that_went_is_neither_set_nor_saved_nor_taken_from_a_dump(chip: Chip, made: Emitted) -> None:
    program = chip.build([made.write("sets.c", SETS), made.source], include_dirs=[made.folder])
    assert chip.run(program, eeprom=factory_image(made.layout)).stdout == "10110 11111 10110"


@pytest.mark.slow
@pytest.mark.needs("gcc")
@pytest.mark.parametrize("way", ["bytes", "cycles"])
def test_saving_keeps_off_a_bench_behind_the_look(way: str, made: Emitted, tmp_path: Path) -> None:
    """On units of each revision, cut off at each step: into the places that came later, and nowhere else."""
    units = tmp_path / "units"
    images = [factory_image(layout).hex() for layout in (*made.before, made.layout)]
    units.write_text("\n".join(images) + "\n", encoding="utf-8")
    sample = tmp_path / "sample"
    counts = run(build(subject(made), "cuts"), 1, 0, 6_000, way, sample, units)
    assert counts["through"] == counts["first"] > 2_000 and counts["given"] > 6
    for line in sample.read_text(encoding="utf-8").splitlines():
        memory, *heard = line.split(" ")
        assert heard == played(reader_of(made, bytes.fromhex(memory)))


@pytest.mark.needs("avr-gcc")
def test_what_is_not_in_use_lies_in_flash(made: Emitted) -> None:
    sizes = size(avr_object(made.source, [made.folder]))
    assert (sizes.data, sizes.bss) == (0, 0)


@pytest.mark.needs("gcc")
@pytest.mark.parametrize("table", ["vacancies", "old_vacancies"])
def test_the_self_test_counts_what_is_not_in_use(made: Emitted, table: str, tmp_path: Path) -> None:
    text = made.source.read_text(encoding="utf-8")
    head = f"gp_{table}[] = {{\n    {{ "
    at = text.index(head) + len(head)
    row, _, rest = text[at:].partition("u,")
    source = tmp_path / "wrong.c"
    source.write_text(f"{text[:at]}{int(row) + 1}u,{rest}", encoding="utf-8")
    program = made.write(
        "proof.c",
        '#include "gate_post.h"\n#include "board.h"\n'
        "int main(void) { board_print_u32(@_self_test(@@_BUILD)); return 0; }\n",
    )
    assert answers(program, [made.source, source], made.folder) == ["0", "3"]


def answers(program: Path, sources: Sequence[Path], folder: Path) -> list[str]:
    return [run_host_board(host([program, source], [folder])).stdout for source in sources]
