"""Reading within bounds, and writing that leaves all or nothing."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from paramc.cli import files
from paramc.cli.files import Output, Trouble, read_source, write_all, write_one

FIRST = (Output("a.h", b"one"), Output("a.bin", b"\x00\x01"))
SECOND = (Output("a.h", b"two"), Output("a.bin", b"\x02"))
RECORD = ".a.written"


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_a_set_is_written_and_written_again(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "out"
    write_all(str(folder), FIRST, RECORD, force=False)
    assert set(content(folder)) == {"a.h", "a.bin", RECORD}
    write_all(str(folder), SECOND, RECORD, force=False)
    assert content(folder)["a.h"] == b"two"


def test_what_a_person_wrote_or_changed_is_left_alone(tmp_path: Path) -> None:
    write_all(str(tmp_path), FIRST, RECORD, force=False)
    (tmp_path / "a.h").write_bytes(b"edited by hand")
    before = content(tmp_path)
    with pytest.raises(Trouble, match=r"a\.h is not as paramc wrote it"):
        write_all(str(tmp_path), SECOND, RECORD, force=False)
    assert content(tmp_path) == before
    write_all(str(tmp_path), SECOND, RECORD, force=True)
    assert content(tmp_path)["a.h"] == b"two"


def test_a_second_set_does_not_make_strangers_of_the_first(tmp_path: Path) -> None:
    write_all(str(tmp_path), FIRST, RECORD, force=False)
    write_all(str(tmp_path), (Output("b.h", b"other"),), RECORD, force=False)
    write_all(str(tmp_path), SECOND, RECORD, force=False)
    assert content(tmp_path)["a.h"] == b"two"


def test_a_stranger_of_the_same_bytes_is_no_stranger(tmp_path: Path) -> None:
    (tmp_path / "a.h").write_bytes(b"one")
    write_all(str(tmp_path), FIRST, RECORD, force=False)


@pytest.mark.parametrize("step", range(4))
def test_a_write_that_fails_leaves_the_folder_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    write_all(str(tmp_path), FIRST, RECORD, force=False)
    before = content(tmp_path)
    calls = 0

    def full_disk(handle: int) -> None:
        nonlocal calls
        calls += 1
        if calls > step:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(Trouble, match="no space left"):
        write_all(str(tmp_path), SECOND, RECORD, force=False)
    assert content(tmp_path) == before


@pytest.mark.parametrize("moved", range(4))
def test_a_stop_between_two_moves_is_no_stranger_next_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moved: int
) -> None:
    write_all(str(tmp_path), FIRST, RECORD, force=False)
    real, calls = os.replace, 0

    def cut(*paths: Path) -> None:
        nonlocal calls
        calls += 1
        if calls > moved:
            raise KeyboardInterrupt
        real(*paths)

    monkeypatch.setattr(os, "replace", cut)
    with pytest.raises(KeyboardInterrupt):
        write_all(str(tmp_path), SECOND, RECORD, force=False)
    monkeypatch.setattr(os, "replace", real)
    assert not [name for name in content(tmp_path) if name.endswith(".part")]
    write_all(str(tmp_path), SECOND, RECORD, force=False)
    assert content(tmp_path)["a.bin"] == b"\x02"


def test_a_folder_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(Trouble, match="cannot be written to"):
        write_all(str(tmp_path / "file" / "out"), FIRST, RECORD, force=False)


def test_one_file(tmp_path: Path) -> None:
    path = tmp_path / "one.hex"
    write_one(str(path), b"x", force=False)
    write_one(str(path), b"x", force=False)
    with pytest.raises(Trouble, match="there already"):
        write_one(str(path), b"y", force=False)
    write_one(str(path), b"y", force=True)
    assert path.read_bytes() == b"y"


def test_reading(tmp_path: Path) -> None:
    with pytest.raises(Trouble, match="cannot be read: no such file"):
        read_source(str(tmp_path / "none"))
    with pytest.raises(Trouble, match="cannot be read: is a directory"):
        read_source(str(tmp_path))
    path = tmp_path / "p.paramc"
    path.write_bytes(b"\xef\xbb\xbf# mark\n")
    answer = read_source(str(path))
    assert answer.value is not None
    assert answer.value.text == "# mark\n"
    path.write_bytes(b"# fine\n\xff")
    answer = read_source(str(path))
    assert answer.value is None
    assert "byte 8, on line 2" in answer.diagnostics[0].sentence
    path.write_bytes(b"#" * (files.LARGEST_SOURCE + 1))
    with pytest.raises(Trouble, match="longer than"):
        read_source(str(path))
