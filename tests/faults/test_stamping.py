"""A batch that is cut at every write, meets a full disk, or is killed at any moment: the same command, given
again, ends as if nothing had happened."""

from __future__ import annotations

import contextlib
import json
import os
import random
import resource
import signal
import subprocess
import sys
import time
import tracemalloc
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from paramc.cli import stamp
from paramc.cli.files import Trouble
from paramc.cli.layouts import released as read_release
from paramc.cli.placing import GROUP
from paramc.cli.ship_log import ShipLog, attempt_at
from paramc.cli.stamp import Order, run
from paramc.image.log import Attempt
from paramc.image.memory import read_memory
from paramc.image.stamp import Unit, stamp_image
from paramc.release.freeze import release_file
from tests.unit.cli.test_stamp import memory_in
from tests.unit.image.layouts import released

TOP = Path(__file__).resolve().parents[2]
PINCH = "teasel_pinch"
LIST = "serial,vca_null\nTP-1,1\nTP-2,2\nTP-3,x\nTP-4,4\n"
CALLS = ("write", "fsync", "sync", "replace", "open", "ftruncate", "unlink")


class Killed(BaseException):
    """The process is gone; nothing that it would have done after this is done."""


class Disk:
    """The calls that reach the disk, counted; from one of them on they fail."""

    def __init__(
        self, patch: pytest.MonkeyPatch, ends: int | None, fault: Callable[[], BaseException]
    ) -> None:
        self.calls = 0
        self._ends, self._fault = ends, fault
        for name in CALLS:
            patch.setattr(os, name, self._counted(getattr(os, name)))

    def _counted(self, call: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*words: Any, **more: Any) -> Any:
            reads = call.__name__ == "open" and not words[1] & os.O_CREAT
            if not reads:
                self.calls += 1
                if self._ends is not None and self.calls >= self._ends:
                    raise self._fault()
            return call(*words, **more)

        return counted


def order(folder: Path, text: str = LIST, *, together: bool = False) -> Order:
    release, units = folder / "x.r2.json", folder / "list.csv"
    if not release.exists():
        release.write_bytes(release_file(released(PINCH)))
    units.write_text(text, encoding="utf-8")
    return Order(
        str(release), str(units), str(folder / "out"), str(folder / "log"), "bin", together=together
    )


def entries(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / "log").read_bytes().splitlines() if line.endswith(b"}")]


def images(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (folder / "out").glob("*.bin")}


def whole(folder: Path) -> None:
    """Nothing in the output folder is half of anything, and no image is that of another unit."""
    layout = released(PINCH).layout
    for name, data in images(folder).items():
        size = layout.product.chip.size
        assert data and len(data) % size == 0
        for at in range(0, len(data), size):
            contents = read_memory(layout, data[at : at + size])
            assert contents.identity is not None
            serial = contents.identity.serial
            assert f".{serial}." in name or "_to_" in name
            assert data[at : at + size] == stamp_image(
                layout, Unit(serial, 0, (("vca_null", 128 + int(serial.removeprefix("TP-"))),))
            )


def reconciled(folder: Path, serials: set[str]) -> None:
    """Every good unit was made, its image is there, no number of attempt stands twice."""
    said = [entry for entry in entries(folder) if entry["kind"] == "attempt"]
    assert {entry["serial"] for entry in said if entry["outcome"] == "made"} == serials
    twice = Counter((entry["serial"], entry["attempt"]) for entry in said if entry["serial"] is not None)
    assert max(twice.values()) == 1
    reservations = (entry["serials"] for entry in entries(folder) if entry["kind"] == "reserved")
    booked = [serial for serials in reservations for serial in serials]
    assert len(booked) == len(set(booked))


@pytest.fixture(autouse=True)
def read_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Reading a release takes longer than stamping, and is not what is tested here."""
    (tmp_path / "once.r2.json").write_bytes(release_file(released(PINCH)))
    found = read_release(str(tmp_path / "once.r2.json"))
    monkeypatch.setattr(stamp, "released", lambda path: found)


def calls_of_a_run(folder: Path, together: bool) -> int:
    with pytest.MonkeyPatch.context() as patch:
        disk = Disk(patch, None, OSError)
        assert run(order(folder, together=together), as_json=False) == 1
    return disk.calls


@pytest.mark.slow
@pytest.mark.parametrize("together", [False, True])
@pytest.mark.parametrize("fault", ["a full disk", "a kill"])
def test_a_fault_at_every_write(tmp_path: Path, fault: str, together: bool) -> None:
    (tmp_path / "sound").mkdir()
    total = calls_of_a_run(tmp_path / "sound", together)
    assert total > 10
    wanted = images(tmp_path / "sound")
    for ends in range(1, total + 1):
        folder = tmp_path / str(ends)
        folder.mkdir()
        with pytest.MonkeyPatch.context() as patch:
            if fault == "a kill":
                Disk(patch, ends, Killed)
                with pytest.raises(Killed):
                    run(order(folder, together=together), as_json=False)
            else:
                Disk(patch, ends, lambda: OSError(28, "No space left on device"))
                assert run(order(folder, together=together), as_json=False) == 1
        if (folder / "out").exists():
            whole(folder)
        assert run(order(folder, together=together), as_json=False) == 1  # TP-3 has no number
        whole(folder)
        assert images(folder) == wanted
        assert not list((folder / "out").glob(".*.part"))
        reconciled(folder, {"TP-1", "TP-2", "TP-4"})


def test_nothing_is_written_before_the_list_is_reserved(tmp_path: Path) -> None:
    seen: list[tuple[str, bool]] = []
    with pytest.MonkeyPatch.context() as patch:
        write, fsync = os.write, os.fsync
        log = tmp_path / "log"

        def watched_write(handle: int, data: bytes) -> int:
            seen.append(("log" if os.path.samestat(os.fstat(handle), log.stat()) else "image", True))
            return write(handle, data)

        def watched_fsync(handle: int) -> None:
            seen.append(("log flushed", True))
            fsync(handle)

        patch.setattr(os, "write", watched_write)
        patch.setattr(os, "fsync", watched_fsync)
        run(order(tmp_path), as_json=False)
    assert [what for what, _ in seen[:3]] == ["log", "log flushed", "image"]
    assert entries(tmp_path)[0]["serials"] == ["TP-1", "TP-2", "TP-3", "TP-4"]


def command(folder: Path, asked: Order, **more: Any) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "paramc", "stamp", asked.release, "--batch", asked.units, "-o", asked.folder,
         "--log", asked.log, "--form", asked.ending],
        cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **more,
    )  # fmt: skip


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """A limit on the size of files stops the log in the middle of a line."""
    rows = "".join(f"TP-{at},{at}\n" for at in range(1, 100))
    asked = order(tmp_path, f"serial,vca_null\n{rows}")

    def limited() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    process = command(tmp_path, asked, preexec_fn=limited)
    _, said = process.communicate()
    assert process.returncode == 1
    assert b"file too large. Of 99 units" in said and b"Traceback" not in said
    assert (tmp_path / "log").read_bytes().endswith(b"\n")
    whole(tmp_path)
    assert run(asked, as_json=False) == 0
    whole(tmp_path)
    reconciled(tmp_path, {f"TP-{at}" for at in range(1, 100)})


def test_a_log_that_changes_on_the_way_stops_the_run_and_what_was_made_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Somebody edits the log by hand while it is in use: the units before that are made, and counted."""
    rows = "".join(f"TP-{at},{at % 100}\n" for at in range(300))
    asked = order(tmp_path, f"serial,vca_null\n{rows}")
    assert run(asked, as_json=False) == 0
    log = tmp_path / "log"
    reads = 0

    def edited(self: ShipLog, offset: int) -> Attempt:
        nonlocal reads
        reads += 1
        if reads > GROUP + 10:
            log.write_bytes(log.read_bytes()[:-4000])
            raise Trouble("it has changed.")
        return attempt_at(self.path, offset)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ShipLog, "attempt", edited)
        assert run(asked, as_json=False) == 1
    said = capsys.readouterr()
    assert f"FAIL: {GROUP} of 300 units stamped, 0 failed, 50 missing." in said.out
    assert said.err.endswith("it has changed.\n")
    assert run(asked, as_json=False) == 0
    assert len(images(tmp_path)) == 300


FAULTS = {
    50: ("TP-50,200", "outside its range"),
    120: ("TP-120,x", "is no number"),
    200: ('TP-200,"1,5"', "decimal comma"),
    260: ("000260,1", "all digits"),
    333: ("0001E2,1", "power of ten"),
    400: ("tp-400,1", "is no serial; write TP-400"),
    401: ("../../etc,1", "is no serial"),
    512: ("TP-512,=1+1", "is a formula"),
    600: ("TP-600,", "is empty"),
    700: ("TP-700,1,2", "3 cells under a head of 2"),
    808: ("TP-808,1;5", "has a semicolon"),
    999: ('"TP-\n999",1', "is no serial"),
}


def big_list() -> str:
    rows = (FAULTS[at][0] if at in FAULTS else f"TP-{at},{at % 100}" for at in range(1, 1001))
    return "serial,vca_null\n" + "".join(f"{row}\n" for row in rows)


@pytest.mark.slow
def test_a_thousand_units_with_twelve_faults_killed_at_random_moments(tmp_path: Path) -> None:
    asked = order(tmp_path, big_list())
    moments = random.Random(20)
    killed = 0
    for _ in range(6):
        process = command(tmp_path, asked)
        time.sleep(moments.uniform(0.3, 1.4))
        killed += process.poll() is None
        process.kill()
        process.communicate()
    assert killed
    assert run(asked, as_json=False) == 1
    good = {f"TP-{at}" for at in range(1, 1001) if at not in FAULTS}
    reconciled(tmp_path, good)
    assert {name.split(".")[1] for name in images(tmp_path)} == good
    layout = released(PINCH).layout
    for serial in moments.sample(sorted(good), 25):
        code = 128 + int(serial.removeprefix("TP-")) % 100
        memory = memory_in(layout, tmp_path / "out" / f"{PINCH}.{serial}.bin")
        assert memory == stamp_image(layout, Unit(serial, 0, (("vca_null", code),)))
    last = entries(tmp_path)[-1000:]
    failed = [entry for entry in last if entry["outcome"] == "failed"]
    assert len(failed) == len(FAULTS) == 12
    for entry, (_, words) in zip(failed, FAULTS.values(), strict=True):
        assert words in entry["reason"]


def grown(folder: Path, units: int) -> tuple[int, int]:
    """The peak of memory of a first run over so many units, and of a second one that knows them all."""
    folder.mkdir()
    rows = "".join(f"TP-{at:07},{at % 100}\n" for at in range(units))
    asked = order(folder, f"serial,vca_null\n{rows}")
    peaks = []
    with open(os.devnull, "w") as null, contextlib.redirect_stdout(null), contextlib.redirect_stderr(null):
        for _ in range(2):
            tracemalloc.start()
            assert run(asked, as_json=False) == 0
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
    return peaks[0], peaks[1]


@pytest.mark.slow
def test_memory_grows_by_at_most_300_bytes_a_unit(tmp_path: Path) -> None:
    """Both sizes are beyond one group, whose images are held at once. The lesser of two tries counts: what
    the interpreter takes for good, the first time that it needs it, is no part of a batch."""
    small, large = (
        [min(tries) for tries in zip(*(grown(tmp_path / f"{size}.{at}", size) for at in (1, 2)), strict=True)]
        for size in (500, 2000)
    )
    for less, more in zip(small, large, strict=True):
        assert (more - less) / 1500 < 300, (small, large)
