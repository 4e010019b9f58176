from __future__ import annotations

from pathlib import Path

import pytest

from paramc.image.stamp import Unit, stamp_image
from tests.unit.cli.command import Command
from tests.unit.image.layouts import released

PINCH = "teasel_pinch"
LIST = "serial,vca_null,unity_level\nTP-1,-3,0.15\nTP-2,4,-0.1\n"


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


@pytest.fixture
def stamped(command: Command) -> Path:
    """A folder with two units, stamped; the log stands beside it."""
    out = command.folder / "out"
    done = command.run(
        "stamp", command.release(PINCH), "--batch", command.file("b.csv", LIST), "-o", out,
        "--log", command.folder / "log", "--form", "bin",
    )  # fmt: skip
    assert done.status == 0
    return out


def test_a_unit_as_it_was_meant_passes_in_large_letters(command: Command, stamped: Path) -> None:
    dump, log = stamped / f"{PINCH}.TP-1.bin", command.folder / "log"
    done = command.run("verify", command.release(PINCH), dump, "--log", log)
    assert (done.status, done.err) == (0, "")
    assert done.out.splitlines()[-1].startswith("PASS: TP-1 ")
    assert done.out.splitlines()[-1].endswith(" is as it was meant, Teasel Pinch, revision 2.")
    assert "    PPPPPP      AAA      SSSSS     SSSSS" in done.out.splitlines()
    assert any(line.startswith("WARNING. After new firmware") for line in done.out.splitlines())
    alone = command.run("verify", command.release(PINCH), dump)
    assert alone.status == 0 and "--log holds them against what was stamped." in alone.out


def test_the_log_knows_what_the_dump_alone_cannot(command: Command, stamped: Path) -> None:
    # Sound in itself, and not what was stamped under this serial.
    other = stamp_image(released(PINCH).layout, Unit("TP-1", 0, (("vca_null", 130),)))
    dump = command.file("dump.bin", other)
    assert command.run("verify", command.release(PINCH), dump).status == 0
    done = command.run("verify", command.release(PINCH), dump, "--log", command.folder / "log")
    assert done.status == 1
    assert "vca_null              -3        2" in done.out
    assert done.out.splitlines()[-1].startswith("FAIL: TP-1 ")
    assert "X  FFFFFFF     AAA      IIIIII   LL       X" in done.out.splitlines()


def test_many_dumps_in_one_table(command: Command, stamped: Path) -> None:
    good = [stamped / f"{PINCH}.TP-{at}.bin" for at in (1, 2)]
    torn = command.file("torn.hex", ":00")
    twice = command.file("twice.bin", good[0].read_bytes())
    done = command.run(
        "verify", command.release(PINCH), *good, torn, twice, "--log", command.folder / "log", "--json"
    )
    assert (done.status, done.err) == (1, "")
    assert [unit["result"] for unit in done.data["units"]] == ["PASS", "PASS", "FAIL", "FAIL"]
    assert (done.data["passed"], done.data["failed"], done.data["meant_by"]) == (2, 2, "log")
    assert "no two units have one serial" in done.data["units"][3]["reason"]
    again = (*good, torn, good[0])
    text = command.run("verify", command.release(PINCH), *again, "--log", command.folder / "log")
    last = "FAIL: 2 of 3 units of Teasel Pinch, revision 2 are as they were meant."
    assert text.out.splitlines()[-1] == last
    assert [line.split()[0] for line in text.out.splitlines() if "TP-" in line or "torn" in line][:3] == [
        "PASS", "PASS", "FAIL",
    ]  # fmt: skip


def test_the_differences_as_data(command: Command, stamped: Path) -> None:
    memory = bytearray((stamped / f"{PINCH}.TP-2.bin").read_bytes())
    memory[0x85] ^= 4
    done = command.run("verify", command.release(PINCH), command.file("d.bin", bytes(memory)), "--json")
    [unit] = done.data["units"]
    assert unit["differences"] == [
        {
            "record": "presets",
            "preset": 3,
            "address": 130,
            "field": "ratio",
            "meant": "5:1",
            "found": "4.9:1",
        }
    ]
    assert unit["serial"] == "TP-2" and unit["reason"].startswith("In preset 3 at 0x0082, ratio is 4.9:1")


@pytest.mark.parametrize(
    ("product", "serial", "words"),
    [
        ("hob_and_kiln", "HK-1", "It is another product"),
        (PINCH, "TP-7", "has no image that was made for serial TP-7."),
    ],
)
def test_units_that_the_log_does_not_know(
    command: Command, stamped: Path, product: str, serial: str, words: str
) -> None:
    layout = released(product).layout
    dump = command.file("dump.bin", stamp_image(layout, Unit(serial, 0 if layout.product.hardware else None)))
    done = command.run("verify", command.release(PINCH), dump, "--log", command.folder / "log")
    assert done.status == 1 and words in done.out.splitlines()[-1]


def test_what_cannot_be_verified_against(command: Command, stamped: Path) -> None:
    dump = stamped / f"{PINCH}.TP-1.bin"
    done = command.run("verify", command.layout(PINCH), dump)
    assert (done.status, done.out) == (1, "") and "what ships needs a release" in done.err
    done = command.run("verify", command.release(PINCH), dump, "--log", command.folder / "no")
    assert (done.status, done.out) == (1, "")  # a log that is not there says nothing of the unit
    assert done.err.endswith("no cannot be read: no such file or directory. Nothing was verified.\n")
    assert command.run("verify", command.release(PINCH), command.folder / "no").status == 1
    assert command.run("verify", command.release(PINCH)).status == 2
