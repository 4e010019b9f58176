"""Programs that save, built for a product and a driver; and what a memory has to play after them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paramc.emit.templating import prefixed
from tests.target.chips import Chip
from tests.target.emitted import Emitted
from tests.target.independent import LOOK, Reader, Values

HERE = Path(__file__).resolve().parent / "saving"
DEEDS = ("SAVE_PRESET", "SAVE_STATE", "SAVE_SETUP", "RESET_SLOT", "RESET_LOOK", "ANY")
BENCH = ("BENCH_TRIMS", "BENCH_IDENTITY", "BENCH_ALL")

Played = dict[tuple[str, int], Values]


@dataclass(frozen=True)
class Unit:
    """A program for a chip, and the product that it is of."""

    emitted: Emitted
    chip: Chip
    program: Path

    def run(self, memory: bytes, *asked: int) -> tuple[bytes, list[list[str]]]:
        """The memory after a run that was asked so, and the words that it printed, line by line."""
        size = len(memory)
        run = self.chip.run(self.program, eeprom=memory + bytes(asked))
        return run.eeprom_after[:size], [line.split() for line in run.stdout.splitlines()]


def unit(emitted: Emitted, chip: Chip, driver: str, program: str | Path) -> Unit:
    """The program `saving/PROGRAM.c`, or a file, with the driver `saving/DRIVER.c`, on a chip."""
    place(emitted, "subject.h", _subject(emitted))
    place(emitted, "drive.h", (HERE / "drive.h").read_text(encoding="utf-8"))
    named = [f"{driver}.c", *([f"{program}.c"] if isinstance(program, str) else [])]
    sources = [place(emitted, name, (HERE / name).read_text(encoding="utf-8")) for name in named]
    if isinstance(program, Path):
        sources.append(program)
    if program == "bench":
        sources.append(emitted.folder / f"{emitted.name}_bench.c")
    return Unit(emitted, chip, chip.build([*sources, emitted.source], include_dirs=[emitted.folder]))


def place(emitted: Emitted, name: str, text: str) -> Path:
    """A file beside a product's C, the prefix p turned into that of the product."""
    path = emitted.folder / name
    path.write_text(prefixed(text, emitted.layout.product.prefix), encoding="utf-8")
    return path


def _subject(emitted: Emitted) -> str:
    product = emitted.file["product"]
    trims = "".join(
        f" trims.{member} = ({type_})((seed * 3u + {at}u) % {codes}u);"
        for at, (member, type_, codes) in enumerate(_trims(emitted))
    )
    lines = [
        f'#include "{emitted.name}.h"',
        "#include <stddef.h>",
        f"#define HAS_SETUP {int(emitted.has('setup'))}",
        f"#define HAS_BENCH {int(emitted.has('bench'))}",
        f"#define HAS_NAMES {int(any(field['kind'] == 'name' for field in emitted.fields('presets')))}",
        f"#define HAS_SERIAL {int(any(field['kind'] == 'serial' for field in emitted.fields('identity')))}",
        f"enum {{ PAGE = {product['chip']['page']} }};",
        f"enum {{ {', '.join(DEEDS)}, {', '.join(BENCH)} }};",
        f"enum {{ ITEMS = {len(_items(emitted))} }};",
        f"#define TRIMS(seed){trims}",
        "static const struct { uint16_t row, codes; } items[ITEMS] = {",
        *(f"    {{ P_ITEM_{name.upper()}, P_CODES_{name.upper()} }}," for name in _items(emitted)),
        "};",
    ]
    learned = [field["name"] for field in emitted.fields("setup") if field["kind"] == "end low"]
    lines += [f"#define LEARNED {name.rpartition('_')[0]}_ends" for name in learned[:1]]
    return "\n".join(lines) + "\n"


def _items(emitted: Emitted) -> list[str]:
    return [item["name"] for item in emitted.file["product"]["items"] if item["kind"] != "trim"]


def _trims(emitted: Emitted) -> list[tuple[str, str, int]]:
    """Members of the trims, their types, and how many codes each has."""
    members = {"end low": ".low", "end high": ".high"}
    found = []
    for field in emitted.fields("bench"):
        name, ends = field["name"], field["kind"] in members
        if ends:
            name = f"{name.rpartition('_')[0]}_ends{members[field['kind']]}"
        found.append((name, "uint16_t" if ends or field["width"] > 8 else "uint8_t", field["codes"]))
    return found


# ---- what plays


def heard(file: Mapping[str, Any], memory: bytes) -> Played:
    """What each number of the look plays."""
    reader = Reader(file, memory)
    return {at: reader.codes(*at)[1] for at in reader.numbers() if at[0] in LOOK}


def owned(file: Mapping[str, Any], memory: bytes) -> bytes:
    """The bytes of what the bench owns."""
    return memory[: min(min(record["places"]) for record in file["records"] if record["kind"] in LOOK)]


def asked(emitted: Emitted, before: Played, word: str, slot: int, chance: int) -> Played:
    """What plays once a deed that the program printed so is through."""
    after = dict(before)
    factory = Reader(emitted.file, b"")
    if word == "look":
        return {at: factory.factory(*at) for at in before}
    if word == "slot":
        after["presets", slot] = factory.factory("presets", slot)
        return after
    codes = {name: (chance * 7 + at * 13) % _codes(emitted, name) for at, name in enumerate(_items(emitted))}
    codes |= {"slot": slot, "last_preset": chance % _slots(emitted), "engaged": chance & 1}
    after[word, slot] = {name: codes.get(name, old) for name, old in before[word, slot].items()}
    return after


def trims_asked(emitted: Emitted, seed: int) -> Values:
    """The bench's values that the program makes of a seed."""
    fields = emitted.fields("bench")
    return {field["name"]: (seed * 3 + at) % field["codes"] for at, field in enumerate(fields)}


def _codes(emitted: Emitted, name: str) -> int:
    return next(
        int(field["codes"]) for kind in LOOK for field in emitted.fields(kind) if field["name"] == name
    )


def _slots(emitted: Emitted) -> int:
    return next(int(record["numbers"]) for record in emitted.file["records"] if record["kind"] == "presets")
