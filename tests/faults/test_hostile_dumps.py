"""Files that are no dumps, or only nearly: decode and restore end with one clear line, and write nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paramc.image.files import to_hex, to_srec
from paramc.image.stamp import Unit, stamp_image
from tests.unit.cli.command import Command
from tests.unit.image.layouts import released

pytestmark = pytest.mark.slow

PINCH = "teasel_pinch"
IMAGE = stamp_image(released(PINCH).layout, Unit("TP-1", 0))
HEX = to_hex(0, IMAGE).splitlines(keepends=True)
SREC = to_srec(0, IMAGE, "x").splitlines(keepends=True)


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


@pytest.mark.parametrize(
    ("dump", "words"),
    [
        (b"", "The file is empty."),
        (b"".join([*HEX[:3], HEX[2][:-3] + b"00\n", *HEX[4:]]), "line 4 cannot be read as a dump"),
        (b"".join([*HEX, HEX[0]]), "nothing may follow it"),
        (b"".join([*HEX[:3], HEX[2], *HEX[3:]]), "once more"),
        (b"".join([*HEX[:4], SREC[3], *HEX[4:]]), "line 5 cannot be read as a dump"),
        (b"".join([*SREC[:4], HEX[3], *SREC[4:]]), "line 5 cannot be read as a dump"),
        (b":02000004FFFFFC\n:02FFFF000102FD\n:00000001FF\n", "cannot be read as a dump"),
        (b"\xff" * 256, "The dump is blank"),
        (bytes(256), "cannot be known"),
        (b"\x02" * (2 << 20), "cannot be known"),
        (b"\x02" * ((2 << 20) + 1), "is longer than"),
    ],
)
def test_one_clear_line_and_nothing_written(command: Command, dump: bytes, words: str) -> None:
    path = command.file("dump.hex", dump)
    for more in ((), ("--json",), ("--source",)):
        done = command.run("decode", path, "--releases", command.releases, *more)
        assert done.status == 1 and words in done.err and len(done.err.splitlines()) == 1
    out = command.folder / "made"
    done = command.run("restore", path, "--releases", command.releases, "-o", out)
    assert (done.status, done.out, out.exists()) == (1, "", False)
    assert words in done.err and done.err.endswith("Nothing was written.\n")
    done = command.run("verify", command.release(PINCH), path)
    assert (done.status, done.err) == (1, "") and "  XX" not in done.out
    last = done.out.splitlines()[-1]
    assert last.startswith("FAIL: no serial. ") and last.endswith((".", "?")) and len(last) < 300
    assert path.read_bytes() == dump


def test_a_gap_is_said_and_what_is_there_is_read(command: Command) -> None:
    done = command.run(
        "decode", command.file("d.hex", b"".join([*HEX[:9], *HEX[10:]])), "--releases", command.releases
    )
    assert done.status == 0
    assert "The dump does not give 16 bytes (0x0090 to 0x009F) of the memory." in done.err


@pytest.mark.parametrize(
    ("document", "words"),
    [
        (b"[" * 10_000 + b"]" * 10_000, "brackets more than"),
        (b'{"product": "teasel_pinch", "presets": [], "presets": []}', 'has the key "presets" twice'),
        (b'{"product": "teasel_pinch", "presets": [{"slot": NaN, "values": {}}]}', "has the number NaN"),
        (b'{"product": "teasel_pinch", "presets": [{"slot": 1' + b"0" * 5000 + b"}]}", "digits"),
        (b'{"product": "hob_and_kiln", "presets": []}', "for product hob_and_kiln, and this is teasel_pinch"),
        (b'{"format": 2, "product": "teasel_pinch", "presets": []}', "another format than 1"),
    ],
)
def test_a_document_at_fault_leaves_all_as_it_was(command: Command, document: bytes, words: str) -> None:
    dump, wish = command.file("dump.bin", IMAGE), command.file("wish.json", document)
    out = command.folder / "made"
    words_ = ("restore", dump, "--releases", command.releases, "--presets", wish, "-o", out)
    done = command.run(*words_)
    assert (done.status, done.out, out.exists()) == (1, "", False)
    assert words in done.err
    data = command.run(*words_, "--json").data
    assert words in json.dumps(data, ensure_ascii=False).replace('\\"', '"')


def test_a_document_for_what_another_revision_has(command: Command) -> None:
    """Dry blend came with revision 2 of a story that this release does not know."""
    wish = {"product": PINCH, "presets": [], "setup": {"lean": "1 dB"}}
    dump, path = command.file("dump.bin", IMAGE), command.file("wish.json", json.dumps(wish))
    out = command.folder / "made"
    done = command.run("restore", dump, "--releases", command.releases, "--presets", path, "-o", out)
    assert (done.status, out.exists()) == (1, False) and "the key lean, which is not known" in done.err
    done = command.run("restore", dump, "--releases", command.releases, "--revision", 7, "-o", out)
    assert done.status == 1 and "No release of Teasel Pinch, revision 7, is at hand." in done.err
