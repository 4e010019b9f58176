"""Restore meets a full disk or is killed at every call that reaches the disk: the dump stays as it was, and
the image is whole or is not there."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from paramc.cli import restore
from paramc.cli.layouts import layouts_at
from paramc.cli.restore import Asked, run
from paramc.image.stamp import Unit, stamp_image
from paramc.release.freeze import release_file
from tests.faults.test_stamping import Disk, Killed
from tests.unit.image.layouts import released

TOP = Path(__file__).resolve().parents[2]
PINCH = "teasel_pinch"
IMAGE = stamp_image(released(PINCH).layout, Unit("TP-1", 0, (("vca_null", 3),)))
DAMAGED = IMAGE[:130] + b"\x00" + IMAGE[131:]


def asked(folder: Path, **more: bool) -> Asked:
    """A dump with a damaged preset, and an image that an earlier call has left where the new one goes."""
    folder.mkdir(exist_ok=True)
    (folder / "dump.bin").write_bytes(DAMAGED)
    (folder / "good.bin").write_bytes(b"before")
    return Asked(
        str(folder / "dump.bin"), str(folder / "x.r2.json"), str(folder / "good.bin"), "bin", None, None,
        factory=True, look=None, slots=(3,), serial=None, log=None, force=True,
    )  # fmt: skip


@pytest.fixture(autouse=True)
def read_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Reading a release takes longer than restoring, and is not what is tested here."""
    (tmp_path / "x.r2.json").write_bytes(release_file(released(PINCH)))
    found = layouts_at(str(tmp_path / "x.r2.json"))
    monkeypatch.setattr(restore, "layouts_at", lambda path: found)


def calls_of_a_run(folder: Path) -> int:
    with pytest.MonkeyPatch.context() as patch:
        disk = Disk(patch, None, OSError)
        assert run(asked(folder), "text") == 0
    return disk.calls


@pytest.mark.parametrize("fault", ["a full disk", "a kill"])
def test_a_fault_at_every_call(tmp_path: Path, fault: str, capsys: pytest.CaptureFixture[str]) -> None:
    total = calls_of_a_run(tmp_path / "sound")
    wanted = (tmp_path / "sound" / "good.bin").read_bytes()
    assert total >= 3 and len(wanted) == len(IMAGE)
    ends: Callable[[], BaseException] = Killed if fault == "a kill" else _full
    for at in range(1, total + 1):
        folder = tmp_path / str(at)
        order = asked(folder)
        with pytest.MonkeyPatch.context() as patch:
            Disk(patch, at, ends)
            if fault == "a kill":
                with pytest.raises(Killed):
                    run(order, "text")
            else:
                assert run(order, "text") == 1
                assert "no space left on device. Nothing" in capsys.readouterr().err.replace("\n", " ")
        assert (folder / "dump.bin").read_bytes() == DAMAGED
        assert (folder / "good.bin").read_bytes() == b"before"
        assert run(order, "text") == 0
        assert (folder / "good.bin").read_bytes() == wanted
        assert (folder / "dump.bin").read_bytes() == DAMAGED


def _full() -> BaseException:
    return OSError(28, "No space left on device")


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """A limit on the size of files stops the image in its middle."""
    asked(tmp_path)

    def limited() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))

    words = ("restore", "dump.bin", "--releases", "x.r2.json", "-o", "new.bin")
    done = subprocess.run(
        [sys.executable, "-m", "paramc", *words], cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(TOP)},
        preexec_fn=limited, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == "new.bin cannot be written: file too large.\nNothing was written.\n"
    assert {path.name for path in tmp_path.iterdir()} == {"dump.bin", "good.bin", "x.r2.json"}
