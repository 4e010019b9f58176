"""The emitted C: silent in every compiler, and the same answers as an independent reader, on every chip."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from paramc.image.factory import factory_image
from tests.target.chips import (
    CHIPS,
    CPUS,
    BuildFailed,
    Chip,
    arm_object,
    avr_object,
    host,
    on_every_chip,
    run_host_board,
    size,
    symbol_sizes,
)
from tests.target.dump import dump_program, expected
from tests.target.emitted import Emitted, emit, layout_of
from tests.target.independent import Reader
from tests.target.memories import damaged_memories, factory_memory, random_memory
from tests.target.products import ALL, RELEASED

products = pytest.mark.parametrize("product", [*ALL, *(f"{name} release" for name in RELEASED)])
AVR_EEPROM = 1024
MEMORIES = 60


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Emitted]:
    """Every product's C, written once."""
    top = tmp_path_factory.mktemp("emitted")
    trials = {name: emit(layout_of(text), top / name) for name, text in ALL.items()}
    released = [(name, f"{name} release") for name in RELEASED]
    return trials | {
        called: emit(layout_of(ALL[name], trial=False), top / called.replace(" ", "-"))
        for name, called in released
    }


# ---- what it says, on every chip


def fitting(chip: Chip, emitted: Emitted, memories: list[bytes]) -> list[bytes]:
    """As many memories as the chip's own holds beside one another."""
    return memories[: AVR_EEPROM // len(memories[0])] if chip.name == "atmega328p" else memories


@pytest.mark.slow
@products
@on_every_chip
def test_every_chip_says_what_the_independent_reader_says(
    chip: Chip, product: str, made: dict[str, Emitted]
) -> None:
    emitted = made[product]
    memories = fitting(chip, emitted, [memory for _, memory in damaged_memories(emitted.file)])
    if not memories:
        # This memory is larger than the chip's: there it is enough that it builds.
        avr_object(emitted.source, [emitted.folder])
        return
    run = chip.run(
        chip.build([dump_program(emitted, len(memories)), emitted.source], include_dirs=[emitted.folder]),
        eeprom=b"".join(memories),
    )
    assert run.stdout == expected(emitted, memories)


@pytest.mark.needs("gcc")
@products
def test_the_host_says_what_the_independent_reader_says_of_random_memories(
    product: str, made: dict[str, Emitted]
) -> None:
    emitted = made[product]
    chance = random.Random(product)
    memories = [memory for _, memory in damaged_memories(emitted.file)]
    memories += [random_memory(emitted.file, chance) for _ in range(MEMORIES)]
    program = host([dump_program(emitted, len(memories)), emitted.source], [emitted.folder])
    got = run_host_board(program, eeprom=b"".join(memories)).stdout.splitlines()
    want = expected(emitted, memories).splitlines()
    lines = len(expected(emitted, memories[:1], tables=False).splitlines())
    for at, memory in enumerate(memories):
        assert got[at * lines : (at + 1) * lines] == want[at * lines : (at + 1) * lines], memory.hex()
    assert got == want


@pytest.mark.needs("gcc")
def test_named_memories_have_their_answers(made: dict[str, Emitted]) -> None:
    # The reader is checked too: each of these says what its name says.
    for emitted in made.values():
        for name, memory in damaged_memories(emitted.file):
            assert Reader(emitted.file, memory).unit() == name.split(":")[0], (emitted.name, name)


@products
def test_the_independent_writer_makes_the_same_new_unit(product: str, made: dict[str, Emitted]) -> None:
    assert factory_image(made[product].layout) == factory_memory(made[product].file)


# ---- how it is built


@pytest.mark.slow
@pytest.mark.needs("gcc", "clang")
@products
@pytest.mark.parametrize("compiler", ["gcc", "clang"])
@pytest.mark.parametrize("language", ["c99", "c++"])
@pytest.mark.parametrize("level", ["-O0", "-O2"])
def test_hosts_build_it_silently(
    product: str, compiler: str, language: str, level: str, made: dict[str, Emitted]
) -> None:
    emitted = made[product]
    program = host(
        [dump_program(emitted, 1), emitted.source],
        [emitted.folder],
        compiler=compiler,
        language=language,
        sanitize=False,
        extra=[level],  # type: ignore[arg-type]
    )
    assert program.exists()


@pytest.mark.slow
@pytest.mark.needs("arm-gcc")
@products
@pytest.mark.parametrize("cpu", CPUS)
def test_arm_builds_it_silently_with_all_tables_in_flash(
    product: str, cpu: str, made: dict[str, Emitted]
) -> None:
    emitted = made[product]
    sizes = size(arm_object(emitted.source, cpu, [emitted.folder]))  # type: ignore[arg-type]
    assert (sizes.data, sizes.bss) == (0, 0)


@pytest.mark.needs("avr-gcc")
@products
def test_avr_builds_it_silently_with_all_tables_in_flash(product: str, made: dict[str, Emitted]) -> None:
    emitted = made[product]
    sizes = size(avr_object(emitted.source, [emitted.folder]))
    assert (sizes.data, sizes.bss) == (0, 0)


@pytest.mark.needs("gcc")
def test_header_and_source_of_different_builds_do_not_compile(
    made: dict[str, Emitted], tmp_path: Path
) -> None:
    other = emit(layout_of(ALL["pinch"].replace("noon -24 dBu", "noon -23 dBu")), tmp_path)
    mixed = tmp_path / "mixed"
    mixed.mkdir()
    (mixed / other.header.name).write_bytes(made["pinch"].header.read_bytes())
    (mixed / other.source.name).write_bytes(other.source.read_bytes())
    with pytest.raises(BuildFailed, match=r"teasel_pinch\.h and \.c come from different builds"):
        host([mixed / other.source.name], [mixed])


def test_the_same_layout_gives_the_same_bytes(made: dict[str, Emitted], tmp_path: Path) -> None:
    for name, text in ALL.items():
        again = emit(layout_of(text), tmp_path / name)
        assert again.header.read_bytes() == made[name].header.read_bytes()
        assert again.source.read_bytes() == made[name].source.read_bytes()


# ---- what it is made of


@products
def test_only_the_promised_headers_are_included(product: str, made: dict[str, Emitted]) -> None:
    emitted = made[product]
    text = emitted.header.read_text(encoding="utf-8") + emitted.source.read_text(encoding="utf-8")
    assert set(re.findall(r"#include\s+(\S+)", text)) == {
        "<stdint.h>",
        "<stddef.h>",
        "<avr/pgmspace.h>",
        f'"{emitted.name}.h"',
    }


@pytest.mark.needs("gcc", "avr-gcc", "arm-gcc")
@products
def test_every_symbol_and_macro_carries_the_prefix(product: str, made: dict[str, Emitted]) -> None:
    emitted = made[product]
    prefix = emitted.layout.product.prefix
    for obj in (avr_object(emitted.source, [emitted.folder]), arm_object(emitted.source, "cortex-m0")):
        # Names with a point or a dollar are the compiler's own, and nothing else sees them.
        names = [name for name in symbol_sizes(obj) if not {"$", "."} & set(name)]
        assert names
        assert [name for name in names if not name.startswith(f"{prefix}_")] == []
    for file in (emitted.header, emitted.source):
        macros = re.findall(r"^\s*#\s*define\s+(\w+)", file.read_text(encoding="utf-8"), re.MULTILINE)
        assert macros
        assert [name for name in macros if not name.startswith(f"{prefix.upper()}_")] == []


def functions(source: str) -> dict[str, str]:
    """The bodies of a source's functions by their names."""
    found = re.finditer(r"^[\w ]+?\*?(\w+)\((?:[^;{}]*?)\)\n\{\n(.*?)^\}$", source, re.MULTILINE | re.DOTALL)
    return {match[1]: match[2] for match in found}


def called(bodies: dict[str, str], name: str) -> Iterator[str]:
    for other in bodies:
        if re.search(rf"\b{other}\b", bodies[name]):
            yield other


@products
def test_nothing_calls_itself(product: str, made: dict[str, Emitted]) -> None:
    bodies = functions(made[product].source.read_text(encoding="utf-8"))
    prefix = made[product].layout.product.prefix
    assert {f"{prefix}_{name}" for name in ("open_step", "find", "look_at", "start", "self_test")} <= set(
        bodies
    )
    reach = {name: set(called(bodies, name)) for name in bodies}
    for _ in bodies:
        reach = {name: near.union(*(reach[other] for other in near)) for name, near in reach.items()}
    assert [name for name, far in reach.items() if name in far] == []


def test_a_function_that_calls_itself_is_seen() -> None:
    bodies = functions(
        "static int f(int x)\n{\n    return g(x);\n}\n\nint g(int x)\n{\n    return f(x);\n}\n"
    )
    assert set(bodies) == {"f", "g"}
    assert list(called(bodies, "f")) == ["g"]


@products
def test_no_floats_heap_or_bit_fields(product: str, made: dict[str, Emitted]) -> None:
    text = made[product].source.read_text(encoding="utf-8") + made[product].header.read_text(encoding="utf-8")
    code = re.sub(r"/\*.*?\*/|\"[^\"]*\"", "", text, flags=re.DOTALL)
    words = set(re.findall(r"[A-Za-z_]\w*", code))
    assert not words & {
        "float",
        "double",
        "malloc",
        "free",
        "int",
        "long",
        "short",
        "goto",
        "union",
        "memcpy",
    }
    assert re.findall(r"\w+\s*:\s*\d+\s*;", code) == []


def test_the_independent_reader_is_independent() -> None:
    source = Path(__file__).with_name("independent.py").read_text(encoding="utf-8")
    imported = re.findall(r"^(?:from|import) (\S+)", source, re.MULTILINE)
    assert set(imported) == {"__future__", "collections.abc", "dataclasses", "typing"}


def test_every_board_of_the_harness_is_used() -> None:
    assert {chip.name for chip in CHIPS} >= {"host-gcc", "host-clang", "host-c++", "atmega328p", *CPUS}
