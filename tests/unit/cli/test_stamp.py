from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from paramc.image.factory import factory_image
from paramc.image.files import to_hex
from paramc.image.memory import read_memory
from paramc.image.reading import Loaded, flatten, read_image
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.json_form import to_json
from paramc.layout.layout import Layout
from tests.unit.cli.command import Command
from tests.unit.image.layouts import released

LIST = "serial,hardware,vca_null,detector_gain reading\r\nTP-000001,A,-3,-12.3\r\nTP-000002,A,4,-11.95\r\n"


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


def log(command: Command) -> Path:
    return command.folder / "log.jsonl"


def factory_file(layout: Layout) -> bytes:
    return to_hex(layout.product.chip.hex_at, factory_image(layout))


def memory_in(layout: Layout, path: Path) -> bytes:
    """The memory that an image file carries, all of it."""
    loaded = read_image(path.read_bytes())
    assert isinstance(loaded, Loaded) and not loaded.notes
    chip = layout.product.chip
    flat = flatten(loaded.chunks, loaded.origin(chip.hex_at), chip.size, chip.blank)
    assert not flat.gaps and not flat.outside
    return flat.data


@pytest.mark.parametrize("form", ["hex", "srec", "bin"])
def test_one_image_a_unit_in_each_form(command: Command, form: str) -> None:
    layout = released("teasel_pinch").layout
    units = command.file("batch.csv", LIST)
    out = command.folder / "out"
    done = command.run(
        "stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out,
        "--form", form,
    )  # fmt: skip
    assert (done.status, done.err) == (0, "")
    names = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    images = {f"teasel_pinch.TP-000001.{form}", f"teasel_pinch.TP-000002.{form}"}
    assert names == images | {"teasel_pinch.TP-000001_to_TP-000002.csv"}
    one = memory_in(layout, out / f"teasel_pinch.TP-000001.{form}")
    assert one == stamp_image(layout, Unit("TP-000001", 0, (("vca_null", 125), ("detector_gain", 33))))


def test_images_stand_where_the_chip_has_them(command: Command) -> None:
    layout = released("gravel_weir").layout  # hex at 0x810000
    units = command.file("batch.csv", "serial,hardware\nW1,B2\n")
    out = command.folder / "out"
    assert command.run(
        "stamp", command.release("gravel_weir"), "--batch", units, "--log", log(command), "-o", out
    ).status == 0
    image = out / "gravel_weir.W1.hex"
    assert image.read_bytes().startswith(b":020000040081")
    contents = read_memory(layout, memory_in(layout, image))
    assert contents.identity is not None and contents.identity.hardware == 1


def test_what_a_person_reads(command: Command) -> None:
    units = command.file("batch.csv", LIST)
    out = command.folder / "out"
    done = command.run(
        "stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out
    )
    lines = done.out.splitlines()
    assert any(line.startswith("WARNING. Unplug amplifier and headphones first") for line in lines)
    assert any(line.startswith("NOTICE. A full erase can wipe serial and trims.") for line in lines)
    row = "  TP-000001  04     A         1        vca_null -3, detector_gain 0.3 dB  "
    row += "teasel_pinch.TP-000001.hex"
    assert row in lines
    # A reading of -11.95 asks for -0.05 dB, half way between two steps: the even code.
    assert any("vca_null 4, detector_gain 0 dB" in line for line in lines)
    assert lines[-1] == "PASS: 2 of 2 units stamped, 0 failed, 0 missing."


def test_a_failed_unit_has_no_image_and_the_others_have(command: Command) -> None:
    units = command.file("batch.csv", LIST + "TP-000003,A,4,-9\r\n")
    out = command.folder / "out"
    done = command.run(
        "stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out
    )
    assert done.status == 1
    assert not (out / "teasel_pinch.TP-000003.hex").exists() and (out / "teasel_pinch.TP-000002.hex").exists()
    assert "  Line 4: detector_gain reading -9 asks for -3 dB, which is outside what is plausible" in done.out
    assert done.out.splitlines()[-1] == "FAIL: 2 of 3 units stamped, 1 failed, 0 missing."


def test_the_summary_as_data(command: Command) -> None:
    units = command.file("batch.csv", LIST + "tp-3,A,4,-12\r\n")
    out = command.folder / "out"
    done = command.run(
        "stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out, "--json"
    )
    assert (done.status, done.err) == (1, "")
    assert (done.data["revision"], done.data["problems"]) == (released("teasel_pinch").revision, [])
    assert [done.data[key] for key in ("listed", "made", "failed", "missing")] == [3, 2, 1, 0]
    first, _, last = done.data["units"]
    assert first["trims"] == [
        {"item": "vca_null", "value": "-3", "measured": True, "kept": False},
        {"item": "detector_gain", "value": "0.3 dB", "measured": True, "kept": False},
        {"item": "unity_level", "value": "0 dB", "measured": False, "kept": False},
    ]
    memory = memory_in(released("teasel_pinch").layout, out / first["file"])
    assert first["image"] == hashlib.sha256(memory).hexdigest().upper()
    told = {key: last[key] for key in ("line", "serial", "outcome", "column", "cell", "reason", "file")}
    assert told == {
        "line": 4,
        "serial": "tp-3",
        "outcome": "failed",
        "column": "serial",
        "cell": "tp-3",
        "reason": 'Line 4: serial "tp-3" is no serial; write TP-3.',
        "file": None,
    }
    [null, gain] = done.data["spread"]
    assert (null["item"], null["mean"], gain["units"]) == ("vca_null", "0.5", 2)
    texts = {text["key"] for text in done.data["texts"]}
    assert texts >= {"programming", "erasing", "first-power-up", "static"}


def test_a_list_that_is_wrong_as_a_whole_writes_nothing(command: Command) -> None:
    units = command.file("batch.csv", LIST.replace(",", ";"))
    out = command.folder / "out"
    words = ("stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out)
    done = command.run(*words)
    assert (done.status, done.out) == (1, "")
    assert "batch.csv: Line 1: the cells are parted by semicolons; write commas: serial,hardware," in done.err
    assert done.err.endswith("Nothing was stamped.\n")
    assert not out.exists()
    again = command.run(*words, "--json")
    assert again.status == 1 and again.data == {"format": 1, "problems": [done.err.strip()]}


def test_a_list_for_labels_that_a_person_has_changed_takes_nothing_from_the_units(command: Command) -> None:
    units = command.file("batch.csv", LIST)
    out = command.folder / "out"
    words = ("stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out)
    assert command.run(*words).status == 0
    labels = out / "teasel_pinch.TP-000001_to_TP-000002.csv"
    labels.write_bytes(labels.read_bytes() + b"saved by a spreadsheet")
    changed = labels.read_bytes()
    done = command.run(*words)
    assert done.status == 1 and "  TP-000001  04     A         2        vca_null -3 (kept)" in done.out
    assert done.out.endswith("FAIL: 2 of 2 units stamped, 0 failed, 0 missing.\n")
    assert done.err == (
        f"{labels} is not as paramc wrote it, so it is left alone. Move it away, or say --force to write over"
        " it. The units are made and logged; the list for labels alone is not as it should be.\n"
    )
    assert labels.read_bytes() == changed
    data = command.run(*words, "--json").data
    assert data["made"] == 2 and data["problems"] == [done.err.strip()]
    done = command.run(*words, "--force")
    assert done.status == 0 and labels.read_bytes() != changed


def test_a_file_where_a_folder_belongs(command: Command) -> None:
    done = command.run(
        "stamp", command.release("teasel_pinch"), "--batch", command.file("b.csv", LIST), "--log",
        log(command), "-o", command.file("out", "mine"),
    )  # fmt: skip
    assert (done.status, done.out) == (1, "") and not log(command).exists()
    assert done.err.endswith("out is a file, and a folder is needed there. Nothing was stamped.\n")
    assert (command.folder / "out").read_text() == "mine"


def test_a_stranger_is_left_alone_and_the_others_go_on(command: Command) -> None:
    units = command.file("batch.csv", LIST)
    out = command.folder / "out"
    words = ("stamp", command.release("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out)
    assert command.run(*words).status == 0
    image = out / "teasel_pinch.TP-000002.hex"
    image.write_bytes(b"mine")
    done = command.run(*words)
    assert done.status == 1 and "is not as paramc wrote it, so it is left alone." in done.out
    assert done.out.endswith("FAIL: 1 of 2 units stamped, 1 failed, 0 missing.\n")
    assert image.read_bytes() == b"mine"
    assert command.run(*words, "--force").status == 0
    assert image.read_bytes() != b"mine"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"format": 1', '"format": 2', "is not a sound release. The release file has another format than 1"),
        ("25 ms", "26 ms", "is not a sound release. The release file was changed"),
        ('"sources"', '"source"', "is not a sound layout file."),
        ("{", "[", "is neither a release nor a layout file, or it is damaged. The file is not JSON"),
    ],
)
def test_a_release_at_fault(command: Command, old: str, new: str, words: str) -> None:
    text = command.release("teasel_pinch").read_text(encoding="utf-8")
    path = command.file("x.r1.json", text.replace(old, new, 1))
    out = command.folder / "out"
    done = command.run(
        "stamp", path, "--batch", command.file("b.csv", LIST), "--log", log(command), "-o", out
    )
    assert (done.status, out.exists()) == (1, False)
    assert f"x.r1.json {words}" in done.err
    assert len(done.err.splitlines()) == 1


def test_what_is_no_release_does_not_ship(command: Command) -> None:
    units, out = command.file("b.csv", LIST), command.folder / "out"
    done = command.run(
        "stamp", command.layout("teasel_pinch"), "--batch", units, "--log", log(command), "-o", out
    )
    assert (done.status, out.exists()) == (1, False)
    assert "teasel_pinch.layout.json is of Teasel Pinch, a trial with fingerprint" in done.err
    made = command.file("x.layout.json", to_json(released("teasel_pinch").layout))
    done = command.run(
        "stamp", made, "--batch", units, "--log", log(command), "-o", out
    )
    assert (done.status, out.exists()) == (1, False)
    assert "x.layout.json is a layout file, and nobody vouches for it; the release of" in done.err


NEEDED = "product.paramc is a product file, and a release of it is needed: run paramc release "


@pytest.mark.parametrize("words", [
    ("stamp", "FILE", "--batch", "b.csv", "--log", "log", "-o", "out"),
    ("verify", "FILE", "dump.hex"),
    ("restore", "dump.hex", "--releases", "FILE", "-o", "out"),
    ("decode", "dump.hex", "--releases", "FILE"),
], ids=lambda words: words[0])  # fmt: skip
def test_whoever_gives_something_else_for_a_release_is_told_what_to_give(
    command: Command, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(command.folder)
    command.file("b.csv", LIST)
    command.file("dump.hex", factory_file(released("teasel_pinch").layout))
    command.file("product.paramc", 'product p "P" {}\n')
    command.file("list.csv", LIST)

    def given(file: str) -> str:
        done = command.run(*(file if word == "FILE" else word for word in words))
        assert (done.status, done.out) == (1, "") and not (command.folder / "out").exists()
        assert not (command.folder / "log").exists()
        return done.err

    assert NEEDED + "product.paramc and give the file that it names" in given("product.paramc")
    assert "list.csv is neither a release nor a layout file, or it is damaged. The" in given("list.csv")
    (command.folder / "above").mkdir()
    command.releases.rename(command.folder / "above" / "releases")
    if words[0] in ("stamp", "verify"):
        told = given("above/releases")
        assert "above/releases is a folder, and one release is needed, such as above/releases/tea" in told
        assert "layouts is a folder, and one release is needed." in given("layouts")
    else:
        assert "There is above/releases: did you mean that?" in given("above")
    if words[0] != "decode":
        told = given("layouts/teasel_pinch.layout.json")
        assert "needs a release: run paramc release teasel_pinch.paramc and give the file" in told


def test_files_that_are_not_there(command: Command) -> None:
    done = command.run("stamp", command.folder / "no", "--batch", "b.csv", "-o", "out", "--log", "l")
    assert done.status == 1 and "cannot be read: no such file or directory." in done.err
    assert command.run("stamp", command.release("teasel_pinch"), "-o", "out").status == 2
