"""The ship record: what a run says in it, and what a later run takes from it."""

from __future__ import annotations

import csv
import fcntl
import io
import json
import os
from pathlib import Path
from typing import Any

import pytest

from paramc.image.memory import read_memory
from paramc.image.reading import Loaded, read_image
from paramc.image.stamp import Unit, stamp_image
from paramc.release.freeze import freeze, release_file
from paramc.text.source import Source
from tests.unit.cli.command import Command, Done
from tests.unit.cli.test_stamp import memory_in
from tests.unit.image.layouts import GRAVEL_WEIR, planned, released

PINCH = "teasel_pinch"
LIST = "serial,vca_null,unity_level\nTP-1,-3,0.15\nTP-2,4,-0.1\n"


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


def stamp(command: Command, text: str, *words: object, product: str = PINCH, log: str = "log.jsonl") -> Done:
    return command.run(
        "stamp", command.release(product), "--batch", command.file("batch.csv", text), "-o",
        command.folder / "out", "--log", command.folder / log, *words,
    )  # fmt: skip


def lines(command: Command, log: str = "log.jsonl") -> list[dict[str, Any]]:
    return [json.loads(line) for line in (command.folder / log).read_bytes().splitlines()]


def attempts(command: Command, log: str = "log.jsonl") -> list[tuple[str, int, str]]:
    said = (line for line in lines(command, log) if line["kind"] == "attempt")
    return [(line["serial"], line["attempt"], line["outcome"]) for line in said]


def image(command: Command, serial: str) -> bytes:
    return memory_in(released(PINCH).layout, command.folder / "out" / f"{PINCH}.{serial}.hex")


def test_the_list_is_reserved_and_each_attempt_has_a_line(command: Command) -> None:
    assert stamp(command, LIST, "--operator", "Ada", "--station", 3).status == 0
    reserved, first, _ = lines(command)
    assert (reserved["kind"], reserved["serials"]) == ("reserved", ["TP-1", "TP-2"])
    run = {
        "operator": "Ada", "station": 3, "product": PINCH, "code": "0x5450", "revision": 2,
        "release": released(PINCH).digest,
    }  # fmt: skip
    assert reserved["run"] == first["run"] == run
    told = [first[key] for key in ("serial", "hardware", "outcome", "reason")]
    assert told == ["TP-1", "A", "made", ""]
    assert first["trims"][0] == {"item": "vca_null", "value": "-3", "measured": True, "kept": False}
    assert attempts(command) == [("TP-1", 1, "made"), ("TP-2", 1, "made")]


def test_a_second_run_keeps_trims_but_those_named(command: Command) -> None:
    stamp(command, LIST)
    before = (command.folder / "log.jsonl").read_bytes()
    done = stamp(command, "serial,vca_null,detector_gain\nTP-1,9,0.2\n")
    assert done.status == 0
    assert "  TP-1: vca_null. To take it from the list: --again vca_null" in done.out.splitlines()
    # What was never measured is taken from the list; what was is kept.
    trims = (("vca_null", 125), ("detector_gain", 32), ("unity_level", 43))
    layout = released(PINCH).layout
    assert image(command, "TP-1") == stamp_image(layout, Unit("TP-1", 0, trims))
    assert stamp(command, "serial,vca_null\nTP-1,9\n", "--again", "vca_null").status == 0
    assert image(command, "TP-1") == stamp_image(layout, Unit("TP-1", 0, (("vca_null", 137), *trims[1:])))
    assert (command.folder / "log.jsonl").read_bytes().startswith(before)
    assert attempts(command)[2:] == [("TP-1", 2, "made"), ("TP-1", 3, "made")]
    assert sum(line["kind"] == "reserved" for line in lines(command)) == 1


def test_a_failed_unit_keeps_its_serial_and_what_was_made_before(command: Command) -> None:
    stamp(command, LIST)
    made = image(command, "TP-1")
    failed = stamp(command, "serial,vca_null\nTP-1,500\n", "--again", "vca_null")
    assert failed.status == 1 and "is outside its range" in failed.out
    assert image(command, "TP-1") == made
    assert stamp(command, "serial\nTP-1\n").status == 0
    assert image(command, "TP-1") == made
    assert attempts(command)[2:] == [("TP-1", 2, "failed"), ("TP-1", 3, "made")]


def test_a_serial_of_another_product_or_board_is_refused(command: Command) -> None:
    weir = "serial,hardware\nTP-1,B2\n"
    assert stamp(command, weir, product="gravel_weir").status == 0
    done = stamp(command, LIST)
    assert done.status == 1 and "serial TP-1 is another product's by the log." in done.out
    other = stamp(command, weir.replace("B2", "C"), product="gravel_weir")
    assert other.status == 1
    assert "serial TP-1 was stamped for hardware B2, and the list says C; if the board" in other.out
    words = ("--again", "hardware")
    assert stamp(command, weir.replace("B2", "C"), *words, product="gravel_weir").status == 0
    layout = released("gravel_weir").layout
    contents = read_memory(layout, memory_in(layout, command.folder / "out" / "gravel_weir.TP-1.hex"))
    assert contents.identity is not None and contents.identity.hardware == 2


def test_two_stations_share_a_list_and_their_logs_are_joined(command: Command) -> None:
    text = "serial,vca_null\n" + "".join(f"TP-{at},{at}\n" for at in range(1, 6))
    for station in (1, 2):
        words = ("--station", station, "--stations", 2)
        assert stamp(command, text, *words, log=f"{station}.jsonl").status == 0
    assert [serial for serial, _, _ in attempts(command, "1.jsonl")] == ["TP-1", "TP-3", "TP-5"]
    parts = [(command.folder / f"{station}.jsonl").read_bytes() for station in (2, 1)]
    (command.folder / "log.jsonl").write_bytes(b"".join(parts))
    done = stamp(command, text.replace(",5", ",50"))
    assert done.status == 0 and "TP-5: vca_null." in done.out
    assert {attempt for _, attempt, _ in attempts(command)[5:]} == {2}


def test_what_was_reserved_and_never_made_is_told(command: Command) -> None:
    stamp(command, LIST + "TP-3,500,0\n")
    done = stamp(command, LIST)
    assert done.status == 0
    assert "Reserved before, not in this list, and without an image: TP-3." in done.out.splitlines()


def test_a_log_that_was_cut_is_read_and_goes_on_on_a_line_of_its_own(command: Command) -> None:
    stamp(command, LIST)
    log = command.folder / "log.jsonl"
    whole = log.read_bytes()
    log.write_bytes(whole[:-40])
    done = stamp(command, LIST)
    assert done.status == 0
    assert f"Lines of {log} that were cut short and count for nothing: 1." in done.out
    assert log.read_bytes().startswith(whole[:-40] + b"\n")
    later = [line for line in log.read_bytes().splitlines()[3:]]
    assert [json.loads(line)["attempt"] for line in later] == [2, 1]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"serial,vca_null\n", "is no log of stamp: line 1. The file is not JSON"),
        (b"{}\n", "is no log of stamp: line 1. It is neither a reservation nor an attempt."),
        (b"\x00\xff\n", "is no log of stamp: line 1."),
    ],
)
def test_what_is_no_log_is_left_alone(command: Command, data: bytes, words: str) -> None:
    log = command.file("log.jsonl", data)
    done = stamp(command, LIST)
    assert done.status == 1 and words in done.err
    assert log.read_bytes() == data and not list((command.folder / "out").glob("*.hex"))


def test_a_folder_or_a_locked_log_is_none(command: Command) -> None:
    (command.folder / "log.jsonl").mkdir()
    assert "cannot be opened" in stamp(command, LIST).err
    handle = os.open(command.folder / "locked", os.O_CREAT | os.O_RDWR)
    fcntl.flock(handle, fcntl.LOCK_EX)
    done = stamp(command, LIST, log="locked")
    os.close(handle)
    assert done.status == 1 and "is in use by another run of stamp" in done.err
    assert stamp(command, LIST, log="locked").status == 0
    done = stamp(command, LIST, log="no/log.jsonl")
    folder = command.folder / "no"
    told = f"{folder}/log.jsonl cannot be made: there is no folder {folder}. Nothing was stamped.\n"
    assert (done.status, done.err) == (1, told)
    done = command.run("stamp", command.release(PINCH), "--batch", "", "--log", "l", "-o", folder)
    assert done.err.startswith("A file without a name cannot be read: no such file or directory.")


def test_a_log_as_editors_leave_it_is_read_on(command: Command) -> None:
    stamp(command, LIST)
    log = command.folder / "log.jsonl"
    kept = log.read_bytes()
    marked = b"\xef\xbb\xbf" + kept
    for odd in (kept.replace(b"\n", b"\r\n"), marked, kept.replace(b"\n", b"\n\n"), kept.rstrip()):
        log.write_bytes(odd)
        done = stamp(command, LIST.replace("-3", "7"))
        assert done.status == 0 and "TP-1: vca_null, " not in done.out
        assert "  TP-1: vca_null. To take it from the list: --again vca_null" in done.out.splitlines()
        assert log.read_bytes().startswith(odd)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--again", "nothing"), "--again names a trim, and nothing is none; there are vca_null,"),
        (("--again", "detector_gain"), "--again detector_gain needs a column"),
        (("--stations", 2), "say which of the 2 stations this is"),
        (("--stations", 2, "--station", 3), "there is no station 3 among 2"),
        (("--operator", "\x1b[2J"), "the operator is a name"),
    ],
)
def test_wrong_use(command: Command, words: tuple[object, ...], said: str) -> None:
    done = stamp(command, LIST, *words)
    assert done.status == 2 and said in done.err
    assert not (command.folder / "log.jsonl").exists()


@pytest.mark.parametrize("form", ["hex", "srec", "bin"])
def test_together_is_one_file_with_image_behind_image(command: Command, form: str) -> None:
    done = stamp(command, LIST + "TP-3,x,0\n", "--together", "--form", form)
    assert done.status == 1 and attempts(command)[2] == ("TP-3", 1, "failed")
    layout = released(PINCH).layout
    path = command.folder / "out" / f"{PINCH}.TP-1_to_TP-3.{form}"
    size = layout.product.chip.size
    loaded = read_image(path.read_bytes())
    assert isinstance(loaded, Loaded) and not loaded.notes
    [chunk] = loaded.chunks
    first, second = chunk.data[:size], chunk.data[size:]
    assert first == stamp_image(layout, Unit("TP-1", 0, (("vca_null", 125), ("unity_level", 43))))
    assert second == stamp_image(layout, Unit("TP-2", 0, (("vca_null", 132), ("unity_level", 38))))
    assert not list(path.parent.glob("*.part"))
    path.write_bytes(b"mine")
    again = stamp(command, LIST + "TP-3,x,0\n", "--together", "--form", form)
    assert again.status == 1 and "is not as paramc wrote it" in again.err
    assert path.read_bytes() == b"mine" and len(attempts(command)) == 3


def test_together_has_room_for_what_addresses_can_say(command: Command) -> None:
    text = GRAVEL_WEIR.replace("hex at 0x810000", "hex at 0xFFFFFC00")  # 512 bytes a unit: room for two
    release = freeze(planned("gravel_weir", text, trial=False), [Source("gravel_weir.paramc", text)])
    path = command.file("high.r7.json", release_file(release))
    units = command.file("high.csv", "serial,hardware\nW1,A\nW2,A\nW3,A\n")
    words = ("stamp", path, "--batch", units, "-o", command.folder / "out", "--log", command.folder / "log")
    done = command.run(*words, "--together")
    assert done.status == 1 and not list((command.folder / "out").glob("*"))
    assert "The list has 3 units, and one file of the form Intel HEX has room for 2; say --form" in done.err
    assert command.run(*words, "--together", "--form", "bin").status == 0
    assert len((command.folder / "out" / "gravel_weir.W1_to_W3.bin").read_bytes()) == 3 * 512


def test_labels_have_no_formulas_and_every_unit(command: Command) -> None:
    stamp(command, LIST + '"=cmd|\'/c\'!A1",0,0\nTP-2x,-1,0\n')
    data = (command.folder / "out" / f"{PINCH}.TP-1_to_TP-2.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(data)))
    assert [row["outcome"] for row in rows] == ["made", "made", "failed", "failed"]
    assert rows[0]["label"] == f"Teasel Pinch A TP-1 {rows[0]['check']}"
    assert (rows[0]["vca_null"], rows[1]["unity_level dB"]) == ("-3", "-0.1")
    assert rows[2]["serial"].startswith("'=cmd") and rows[2]["check"] == ""


def test_what_a_list_has_cannot_act_on_a_terminal_or_a_log(command: Command) -> None:
    done = stamp(command, 'serial,vca_null\n"TP\x1b[2J\n1",0\n../../x,0\nTP-9,"\x07"\n')
    assert done.status == 1 and "\x1b" not in done.out and "\x07" not in done.out
    assert b"\x1b" not in (command.folder / "log.jsonl").read_bytes()
    assert stamp(command, LIST).status == 0
    assert {file.name for file in command.folder.iterdir()} >= {"log.jsonl", "out", "batch.csv"}
    assert [serial for serial, _, _ in attempts(command)][:3] == [None, None, "TP-9"]


def test_spread_names_those_near_an_end(command: Command) -> None:
    done = stamp(command, "serial,unity_level\nTP-1,1.4\nTP-2,0\nTP-3,-0.2\n")
    said = "unity_level of 3 units: mean 0.4 dB, deviation 0.872 dB; the ends are -1.5 dB and 1.5 dB."
    assert {said, "  Near an end: TP-1."} <= set(done.out.splitlines())


def test_spread_is_of_measured_trims_of_units_that_were_made(command: Command) -> None:
    stamp(command, "serial,unity_level\nTP-1,1\n")
    done = stamp(command, "serial,unity_level\nTP-1,0.2\nTP-2,0\nTP-3,1.6\nTP-4,x\n", "--json")
    [level] = done.data["spread"]  # TP-1 keeps the 1 dB of its first run; no other trim was measured
    assert (level["item"], level["units"], level["mean"], level["deviation"]) == (
        "unity_level", 2, "0.5 dB", "0.707 dB",
    )  # fmt: skip
    assert (level["low"], level["high"], level["near"], level["near_serials"]) == ("-1.5 dB", "1.5 dB", 0, [])
    assert [unit["trims"][2]["kept"] for unit in done.data["units"][:2]] == [True, False]
    again = stamp(command, "serial,unity_level\nTP-1,1.4\n", "--again", "unity_level")
    assert "  Near an end: TP-1." in again.out.splitlines()
