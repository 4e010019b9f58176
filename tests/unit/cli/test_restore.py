from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from paramc.image.account import account
from paramc.image.memory import read_memory
from paramc.image.reading import Loaded, flatten, read_image
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from tests.unit.cli.command import Command
from tests.unit.image.layouts import example, record, released
from tests.unit.image.test_memory import Memory

PINCH = "teasel_pinch"
KNOBS = ("SQUEEZE", "RATIO", "ATTACK", "RELEASE", "LEVEL")
DOCUMENT = {
    "product": PINCH,
    "presets": [{"slot": 2, "values": {"attack": "at 2:30", "level": "off"}}],
    "setup": {"knee": "3 dB"},
}


def memory_in(layout: Layout, path: Path) -> bytes:
    """The whole memory that a file carries."""
    loaded = read_image(path.read_bytes())
    assert isinstance(loaded, Loaded)
    chip = layout.product.chip
    flat = flatten(loaded.chunks, loaded.origin(chip.hex_at), chip.size, chip.blank)
    assert not flat.gaps and not flat.outside
    return flat.data


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


def used() -> Memory:
    memory = Memory(released(PINCH).layout)
    memory.bytes = bytearray(stamp_image(memory.layout, Unit("TP-000042", 0, (("vca_null", 140),))))
    memory.write(Kind.PRESETS, 0, number=0, counter=2, attack=700)
    memory.spoil(Kind.PRESETS, 4, 3, 0x77)
    memory.write(Kind.STATE, 0, counter=2, last_preset=1)
    return memory


@pytest.mark.parametrize("form", ["hex", "srec", "bin"])
def test_a_good_image_from_a_damaged_dump_and_a_document(command: Command, form: str) -> None:
    memory = used()
    dump = command.file("dump.bin", bytes(memory.bytes))
    document = command.file("new.json", json.dumps(DOCUMENT))
    out = command.folder / f"good.{form}"
    done = command.run("restore", dump, "--releases", command.releases, "--presets", document, "-o", out)
    assert (done.status, done.err) == (0, "")
    image = memory_in(memory.layout, out)
    said = account(read_memory(memory.layout, image))
    assert said.answer.value == "sound"
    assert said.identity.serial == "TP-000042"
    assert said.setup is not None
    assert {value.item: value.value for value in said.setup.values}["knee"] == "3 dB"
    presets = [{value.item: value.value for value in preset.values} for preset in said.presets]
    assert (presets[0]["attack"], presets[1]["attack"], presets[1]["level"]) == ("70.5 ms", "25.6 ms", "off")
    assert presets[4]["attack"] == "1 ms"  # as the factory makes it
    bench = record(memory.layout, Kind.BENCH)
    identity = record(memory.layout, Kind.IDENTITY)
    owner = slice(identity.places[0], bench.end)
    assert image[owner] == bytes(memory.bytes[owner])
    assert dump.read_bytes() == bytes(memory.bytes)


def test_what_a_person_reads(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    document = command.file("new.json", json.dumps(DOCUMENT))
    out = command.folder / "good.hex"
    done = command.run("restore", dump, "--releases", command.releases, "--presets", document, "-o", out)
    lines = done.out.splitlines()
    assert lines[0].startswith("WARNING. Unplug amplifier and headphones first")
    assert lines[1].startswith("NOTICE. A full erase can wipe serial and trims.")
    at = lines.index("Teasel Pinch, revision 2, serial TP-000042, hardware A.")
    assert lines[at + 2 :] == [
        "Identity, carried over from the dump.",
        "Trims:",
        "    vca_null       12                 measured once, carried over from the dump",
        "    detector_gain  0 dB               nominal, not measured on this unit",
        "    unity_level    0 dB               nominal, not measured on this unit",
        *(f"    {knob:<13}  15 to 1008 counts  nominal, not measured on this unit" for knob in KNOBS),
        "",
        "Kept from the dump: preset 1, preset 3, preset 4, preset 6, preset 7, preset 8, what plays now.",
        "As the factory makes it, for want of a sound copy: preset 5.",
        "Replaced by the document:",
        "  preset 2",
        "    item     was      now",
        "    squeeze  -14 dBu  -24 dBu  not in the document: the default",
        "    ratio    2:1      4:1      not in the document: the default",
        "    attack   20 ms    25.6 ms",
        "    release  250 ms   200 ms   not in the document: the default",
        "    level    1 dB     off",
        "    tone     plain    plain    not in the document: the default",
        "  setup",
        "    item  was   now",
        "    knee  6 dB  3 dB",
        "",
        "$.presets[0].values.attack: at 2:30 is stored as 25.6 ms.",
        "What plays now is kept, so the new preset 2 is heard once it is called.",
        "",
        f"Written: {out}, 256 bytes of memory.",
    ]


def test_the_report_as_data(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    out = command.folder / "good.bin"
    done = command.run("restore", dump, "--releases", command.releases, "-o", out, "--json")
    assert (done.status, done.err) == (0, "")
    data = done.data
    assert (data["serial"], data["problems"]) == ("TP-000042", [])
    assert (data["identity"], data["bench"]) == ("dump", "dump")
    assert data["trims"][:2] == [
        {"item": "vca_null", "value": "12", "from": "dump"},
        {"item": "detector_gain", "value": "0 dB", "from": "nominal"},
    ]
    fates = ["kept"] * 4 + ["factory"] + ["kept"] * 3
    assert data["presets"] == [{"number": at, "fate": fate} for at, fate in enumerate(fates, 1)]
    assert (data["setup"], data["state"], data["bytes"]) == ("kept", "kept", 256)
    assert {text["key"] for text in data["texts"]} == {"programming", "erasing"}


def test_without_a_document_everything_sound_is_kept(command: Command) -> None:
    layout = released("gravel_weir").layout
    image = stamp_image(layout, Unit("W1", 1))
    out = command.folder / "good.bin"
    done = command.run("restore", command.file("d.bin", image), "--releases", command.releases, "-o", out)
    assert done.status == 0 and out.read_bytes() == image
    presets = ", ".join(f"preset {number}" for number in range(1, 6))
    assert f"Kept from the dump: {presets}, setup, what plays now.\n" in done.out
    assert "Replaced by the document" not in done.out


@pytest.mark.parametrize("kind", [Kind.IDENTITY, Kind.BENCH])
def test_nothing_is_written_where_the_bench_is_needed(command: Command, kind: Kind) -> None:
    memory = used()
    for place in (0, 1):
        memory.spoil(kind, place, 3, 0x77)
    dump = command.file("dump.bin", bytes(memory.bytes))
    out = command.folder / "good.hex"
    done = command.run("restore", dump, "--releases", command.releases, "-o", out)
    assert (done.status, done.out, out.exists()) == (1, "", False)
    first, last = done.err.splitlines()
    assert first.endswith("it needs the record of what was shipped, --log LOG, or the bench.")
    assert last == "Nothing was written."
    data = command.run("restore", dump, "--releases", command.releases, "-o", out, "--json").data
    assert data == {"format": 2, "problems": [{"path": None, "sentence": first}]}


def test_a_document_at_fault_is_told_part_by_part(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    bad = {**DOCUMENT, "presets": [{"slot": 2, "values": {"attack": "9\x1b s", "level": "13 dB"}}]}
    document = command.file("new.json", json.dumps(bad))
    out = command.folder / "good.hex"
    words = ("restore", dump, "--releases", command.releases, "--presets", document, "-o", out)
    done = command.run(*words)
    assert (done.status, out.exists()) == (1, False)
    assert done.err.splitlines() == [
        f"{document}, $.presets[0].values.attack:"
        " Param attack: 9<U+001B> s is no value; write a quantity from 0.5 ms to 80 ms.",
        "Nothing was written.",
    ]
    document.write_text(json.dumps({**DOCUMENT, "product": "hob_and_kiln"}), encoding="utf-8")
    [problem] = command.run(*words, "--json").data["problems"]
    assert problem["path"] == "$.product"


def test_the_image_never_takes_the_place_of_the_dump(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    link = command.folder / "same.bin"
    os.link(dump, link)
    for out in (dump, link, command.folder / "layouts" / ".." / "dump.bin"):
        done = command.run("restore", dump, "--releases", command.releases, "-o", out, "--force")
        assert done.status == 2 and "the image cannot take the place of the dump" in done.err
    assert dump.read_bytes() == bytes(used().bytes)


def test_other_files_are_not_written_over_unasked(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    out = command.file("good.bin", b"mine")
    words = ("restore", dump, "--releases", command.releases, "-o", out)
    done = command.run(*words)
    assert done.status == 1 and "say --force to write over it." in done.err and out.read_bytes() == b"mine"
    assert command.run(*words, "--force").status == 0 and len(out.read_bytes()) == 256


@pytest.mark.parametrize("name", ["good.txt", "good.json", "good.HEX.gz"])
def test_the_ending_says_the_form(command: Command, name: str) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    done = command.run("restore", dump, "--releases", command.releases, "-o", command.folder / name)
    assert done.status == 2 and "name a folder, or a file that ends in .hex, .srec, .bin" in done.err
    assert command.run("restore", dump, "--releases", command.releases, "-o", "").status == 2


def test_a_trial_is_not_restored(command: Command) -> None:
    dump = command.file("dump.bin", stamp_image(example(PINCH), Unit("TP-1", 0)))
    out = command.folder / "good.bin"
    done = command.run("restore", dump, "--releases", command.layouts, "-o", out)
    assert (done.status, out.exists()) == (1, False)
    assert "is of Teasel Pinch, a trial with fingerprint" in done.err
    assert "what ships needs a release" in done.err
