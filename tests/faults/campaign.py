"""Products whose saving is tried, and the programs in `c` that try it, built for one of them and run.

Each program is the product's own C, the unit around it (`c/unit.c`) and one campaign (`c/cuts.c` and the
like). It gets the product's facts from its layout file in `subject.h`, prints its counts, and ends with 1
where it has found a loss.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

from paramc.emit.templating import prefixed
from tests.stories import text_of
from tests.target.chips import host
from tests.target.emitted import Emitted, emit, layout_of
from tests.target.independent import Reader, text_bytes
from tests.target.memories import damaged_memories

HERE = Path(__file__).resolve().parent / "c"
LONGEST = 3600.0
"""Seconds that a campaign may take: ten million cuts on a busy machine do."""
_FACTS = "supply 9 V dc centre negative 60 mA inside low voltage"
_ITEMS = """
param level "Level" { range 0 % .. 100 % step 1 % }
param hum "Hum" { range 20 Hz .. 2000 Hz noon 200 Hz coded 5 bits }
selector chime "Chime" { way low "Low" way mid "Mid" way high "High" default mid }
param reach "Reach" { range 0 .. 1000 step 1 }
flag night "Night" { default off kept once }
param glow "Glow" { range 0 .. 10 step 1 kept once }
trim pitch "Pitch" { range -10 cents .. 10 cents step 0.5 cents nominal 0 cents safe 0 cents }
preset 1 "Ding" { }
preset 2 "Dong" { level 30 % hum 400 Hz chime high }
"""


def _product(chip: str, holds: str, name: str = "bell", items: str = _ITEMS, revision: int = 1) -> str:
    return f"""
product {name} "Bell" {{ code 0x4245 prefix {name[0]} revision {revision} {_FACTS} wakes as it was }}
chip {{ endurance 100_000 writes brown-out 2.7 V {chip} }}
holds {{ identity 2 copies serial 4 characters bench 2 copies {holds} }}
{items}
"""


PRODUCTS = {
    # Byte by byte, as a processor's own EEPROM.
    "bytes": _product(
        "size 256 bytes page 1 byte", "setup 3 copies presets 3 slots spare 2 names 5 bytes state 3 copies"
    ),
    # As few places as there can be; the bits the other way round.
    "scant": _product(
        "size 256 bytes page 1 byte order big blank 0x00 checksum crc-16/dnp",
        "setup 2 copies presets 4 slots spare 1 state 2 copies",
    ),
    # Pages that hold a record, and the shortest checksum, which lets much pass that order alone must stop; a
    # single spare place, so that a save often goes to one whose seal a cut has left whole.
    "short": _product(
        "size 512 bytes page 16 bytes checksum crc-8/maxim-dow",
        "setup 2 copies presets 2 slots spare 2 state 2 copies",
    ),
    # Pages that a record is longer than, and what is read at once.
    "pages": _product(
        "size 1 KiB page 16 bytes order big checksum crc-16/ibm-3740",
        "setup 2 copies presets 3 slots spare 2 names 24 bytes state 3 copies",
        revision=2,
    ),
    # The longest checksum, and nothing kept once.
    "long": _product(
        "size 512 bytes page 8 bytes blank 0x00 checksum crc-32/iso-hdlc",
        "presets 5 slots spare 1 state 4 copies",
        items="\n".join(line for line in _ITEMS.splitlines() if "kept once" not in line),
    ),
}
"""By what is particular about each."""

MEMORIES = {"factory": "sound: new", "older": "older: all of look", "newer": "newer: the state"}
"""Memories that scenarios begin with, by their names in the C and in tests.target.memories."""

RELEASED = ("scant", "pages")
"""Those that are built as a release; the others are trials."""

PAGED = ("short", "pages", "long")
"""Those whose memory writes more than a byte in one cycle."""


DEMOS = ("teasel_pinch", "hob_and_kiln", "long_causeway")
"""Of the examples."""


def make(name: str, folder: Path, trial: bool | None = None) -> Emitted:
    """A product's or an example's C and its `subject.h`, in a folder; a trial unless it is of RELEASED."""
    text = PRODUCTS.get(name) or text_of(name)
    return subject(emit(layout_of(text, trial=name not in RELEASED if trial is None else trial), folder))


def subject(emitted: Emitted, page: int | None = None) -> Emitted:
    """Writes `subject.h` beside a product's C: its facts for the programs, taken from its layout file.

    With a page the memory has pages of that size, whatever the layout says.
    """
    file = emitted.file
    records = {record["kind"]: record for record in file["records"]}
    checksum, chip = file["product"]["chip"]["checksum"], file["product"]["chip"]
    holds, presets = "setup" in records, records["presets"]
    numbers = {"state": 0, "setup": 1, "presets": 1 + holds}
    items = [item for item in file["product"]["items"] if item["kind"] != "trim"]
    places = []
    for kind, record in records.items():
        for address in record["places"]:
            cover = bytes.fromhex(record["cover_before"]) + address.to_bytes(2, "big")
            cover += bytes.fromhex(record["cover_behind"])
            trial = len(record["cover_behind"]) // 2
            facts = (
                address, record["place_bytes"], record["length"], numbers.get(kind, 0xFFFF),
                int(kind in numbers), len(record["places"]) - record["numbers"], len(cover), trial,
            )  # fmt: skip
            figures = "".join(f"{fact}u, " for fact in facts)
            places.append(f"{{ {figures}{{ {_bytes(cover)} }} }}, /* {kind} */")
    named = [field for field in presets["fields"] if field["kind"] == "name"]
    names = []
    if named:
        reader, [field] = Reader(file, bytes(chip["size"])), named
        for slot in range(presets["numbers"]):
            value = reader.factory("presets", slot)["name"]
            label = text_bytes(value, field["width"], presets["order"]) + bytes(1)
            names.append(f"{{ {_bytes(label)} }},")
    memories = dict(damaged_memories(file))
    slot = next((field["width"] for field in presets["fields"] if field["kind"] == "slot"), 0)
    mask = (1 << checksum["width"]) - 1
    lines = [
        f'#include "{emitted.name}.h"',
        f"enum {{ PAGE = {page or chip['page']}, BLANK = {chip['blank']}, PLACES = {len(places)} }};",
        f"enum {{ NUMBER_BITS = {slot}, BIG = {int(chip['order'] == 'big')} }};",
        f"enum {{ SHARED = {int(page is not None)} }}; /* 1: places share a page */",
        f"#define HAS_SETUP {int(holds)}",
        f"#define HAS_BENCH {int('bench' in records)}",
        f"#define HAS_NAMES {int(bool(named))}",
        f"enum {{ SUM_WIDTH = {checksum['width']}, SUM_REFLECTED = {int(checksum['reflected'])} }};",
        f"#define SUM_POLY 0x{checksum['poly']:X}u",
        f"#define SUM_INIT 0x{checksum['init']:X}u",
        f"#define SUM_XOROUT 0x{checksum['xorout']:X}u",
        f"#define SUM_MASK 0x{mask:X}u",
        "struct place {",
        "    uint16_t address, size, length, number;",
        "    uint8_t look, spares, covered, trial_cover, cover[8];",
        "};",
        "static const struct place places[PLACES] = {", *places, "};",
        f"enum {{ ITEMS = {len(items)} }};",
        "static const struct { uint16_t row, codes; uint8_t once; } items[ITEMS] = {",
        *(
            f"    {{ P_ITEM_{name}, P_CODES_{name}, {int(item['kept_once'])} }},"
            for item in items for name in [item["name"].upper()]
        ), "};",
        *(
            f"#define HAS_{name.upper()} {int(MEMORIES.get(name) in memories)}"
            for name in ("older", "newer")
        ),
        *(
            f"static const uint8_t {name}[P_MEMORY] = {{ {_bytes(memories[called])} }};"
            for name, called in MEMORIES.items() if called in memories
        ),
        f"enum {{ UNWELL = {len(memories)} }}; /* that something is the matter with, one way or another */",
        "static const uint8_t unwell[UNWELL][P_MEMORY] = {",
        *(f"{{ {_bytes(memory)} }}, /* {called} */" for called, memory in memories.items()), "};",
    ]  # fmt: skip
    lines += [_same(emitted, structure) for structure in ("identity", "trims")]
    setup = emitted.fields("setup")
    learned = [field["name"].removesuffix("_low") for field in setup if field["kind"] == "end low"]
    kept = " ".join(f"(to).{control}_ends = (from)->{control}_ends;" for control in learned)
    lines.append(f"#define KEEP_ENDS(to, from) {kept}")
    ends = {
        f"{field['name'].rpartition('_')[0]}_ends.{field['name'].rpartition('_')[2]}": field["codes"]
        for field in setup
        if field["kind"] in ("end low", "end high")
    }
    some = " ".join(f"(look).{end} = (uint16_t)below({codes}u);" for end, codes in ends.items())
    printed = " ".join(f'fprintf(file, ",%d", (look).{end});' for end in ends)
    lines += [f"#define SOME_ENDS(look) {some}", f"#define PRINT_ENDS(file, look) {printed}"]
    if names:
        lines += ["static const char factory_names[P_SLOTS][P_NAME + 1u] = {", *names, "};"]
    place(emitted, "subject.h", "\n".join(lines) + "\n")
    return emitted


def _same(emitted: Emitted, structure: str) -> str:
    """A macro that compares two of the header's structures member by member: between those is anything."""
    name = f"{emitted.layout.product.prefix}_{structure}"
    header = emitted.header.read_text(encoding="utf-8")
    found = re.search(r"typedef struct \{([^{}]*)\} " + name + ";", header)
    if found is None:
        return ""
    members = []
    for kind, member, array in re.findall(r"^ +(\w+) (\w+)(\[[^]]*\])?;", found[1], re.MULTILINE):
        if array:
            members.append(f"memcmp((a).{member}, (b).{member}, sizeof (a).{member}) == 0")
        else:
            parts = (f"{member}.low", f"{member}.high") if kind.endswith("_ends") else (member,)
            members += [f"(a).{part} == (b).{part}" for part in parts]
    return f"#define {structure.upper()}_SAME(a, b) ({' && '.join(members)})"


def _bytes(data: bytes) -> str:
    return ", ".join(str(byte) for byte in data)


def place(emitted: Emitted, name: str, text: str) -> Path:
    """A file of the folder, with C for the prefix p turned into that of the product."""
    path = emitted.folder / name
    path.write_text(prefixed(text, emitted.layout.product.prefix), encoding="utf-8")
    return path


def build(
    emitted: Emitted, program: str, extra: Sequence[str] = ("-O2",), sanitize: bool = False,
    source: Path | None = None,
) -> Path:
    """One of the programs for a product; source stands for the product's own C, if given."""
    names = ("unit.h", "unit.c", f"{program}.c")
    copies = [place(emitted, name, (HERE / name).read_text(encoding="utf-8")) for name in names]
    return host(
        [*copies[1:], source or emitted.source], [emitted.folder],
        sanitize=sanitize, extra=extra,
    )


def coverage(emitted: Emitted, program: Path) -> tuple[float, int]:
    """The share of lines of a product's C that a program built with --coverage has run, and the lines."""
    data = program.with_name(f"{program.name}-{emitted.source.stem}.gcda")
    said = subprocess.run(
        ["gcov", "--no-output", str(data)], cwd=program.parent, capture_output=True, text=True, check=True
    ).stdout
    found = re.search(r"\.c'\nLines executed:([0-9.]+)% of ([0-9]+)", said)
    assert found is not None, said
    return float(found[1]) / 100, int(found[2])


def played(reader: Reader) -> list[str]:
    """What write_down of unit.c writes of a memory that was heard, from another reader of the same."""
    answers = ("sound", "older", "newer", "blank", "damaged", "trial", "foreign", "missing")
    items = [item["name"] for item in reader.product["items"]]
    said = []
    for kind, number in [("state", 0), *[one for one in reader.numbers() if one[0] in ("setup", "presets")]]:
        answer, values, _ = reader.codes(kind, number)
        others = {"state": ("last preset", "engaged"), "setup": ("end low", "end high"), "presets": ()}[kind]
        fields = reader.records[kind]["fields"]
        words = [str(answers.index(answer)), *(str(values[name]) for name in items if name in values)]
        words += [str(values[field["name"]]) for field in fields if field["kind"] in others]
        for field in fields:
            if field["kind"] == "name":
                words.append(text_bytes(values["name"], field["width"], reader.records[kind]["order"]).hex())
        said.append(",".join(words).upper())
    return said


class Lost(Exception):
    """The campaign found a loss; the text is what it printed, with all that is needed to find it again."""


def run(program: Path, *arguments: object, seconds: float = LONGEST) -> dict[str, int]:
    """The counts that a campaign prints. Raises Lost where it found something."""
    done = subprocess.run(
        [str(program), *(str(argument) for argument in arguments)],
        capture_output=True, text=True, timeout=seconds, check=False,
    )
    if done.returncode == 1:
        raise Lost(done.stdout)
    assert done.returncode == 0, (done.returncode, done.stdout, done.stderr)
    return {name: int(count) for name, count in (line.split() for line in done.stdout.splitlines())}
