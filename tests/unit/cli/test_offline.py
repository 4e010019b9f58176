"""Production and support on a machine that has release files and nothing else: no product file, no compiler,
no network, no other program."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from paramc.release.freeze import release_file
from tests.unit.image.layouts import released

TOP = Path(__file__).resolve().parents[3]
PINCH = "teasel_pinch"

GUARD = """
import sys

COMPILER = {"lark", "jinja2", "markupsafe", "interegular", "intelhex", "mpmath", "numpy", "scipy"}
OURS = ("paramc.syntax", "paramc.check", "paramc.driver", "paramc.plot", "paramc.emit.c", "paramc.catalogue")


class NotHere:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in COMPILER or any(f"{name}.".startswith(f"{one}.") for one in OURS):
            raise ImportError(f"{name} is not on this machine")


def refuse(event, args):
    if event.startswith(("socket.", "subprocess.", "os.system", "os.exec", "os.fork", "os.posix_spawn")):
        raise PermissionError(f"{event} is refused")
    if event == "open" and str(args[0]).endswith((".paramc", ".lark")):
        raise PermissionError(f"{args[0]} is a source")


sys.meta_path.insert(0, NotHere())
sys.addaudithook(refuse)
"""

RUN = f"{GUARD}\nfrom paramc.cli import main\nmain()\n"


class Machine:
    """Runs commands under the guard, in a folder that has a release and a list of units."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "releases").mkdir()
        (folder / "releases" / f"{PINCH}.r2.json").write_bytes(release_file(released(PINCH)))
        (folder / "list.csv").write_text("serial,vca_null\nTP-1,3\nTP-2,-4\n", encoding="utf-8")

    def python(self, program: str, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", program, *words], cwd=self.folder, capture_output=True, encoding="utf-8",
            env={**os.environ, "PYTHONPATH": str(TOP)}, check=False,
        )  # fmt: skip

    def run(self, *words: str, status: int = 0) -> str:
        done = self.python(RUN, *words)
        assert done.returncode == status, (done.stdout, done.stderr)
        return done.stdout


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


@pytest.mark.parametrize(
    "attempt",
    [
        "import lark", "import jinja2.nodes", "import paramc.syntax.parse", "import paramc.driver",
        "import socket; socket.create_connection(('127.0.0.1', 9))", "import socket; socket.socket()",
        "import subprocess; subprocess.run(['true'])", "import os; os.system('true')",
        "open('x.paramc', 'w')",
    ],
)  # fmt: skip
def test_the_guard_holds(machine: Machine, attempt: str) -> None:
    assert machine.python(f"{GUARD}\n{attempt}").returncode == 1
    assert machine.python(f"{GUARD}\nimport json, paramc.layout.layout").returncode == 0


def test_production_needs_the_release_alone(machine: Machine) -> None:
    release = f"releases/{PINCH}.r2.json"
    stamp = ("stamp", release, "--batch", "list.csv", "--log", "log.jsonl")
    assert "PASS: 2 of 2 units stamped" in machine.run(*stamp, "-o", "units")
    assert "PASS: 2 of 2 units stamped" in machine.run(*stamp, "-o", "units", "--again", "vca_null")
    gang = machine.run(*stamp, "-o", "gang", "--together", "--form", "srec", "--json")
    assert json.loads(gang)["made"] == 2
    units = [f"units/{PINCH}.TP-{at}.hex" for at in (1, 2)]
    assert "PASS: 2 of 2 units" in machine.run("verify", release, "--log", "log.jsonl", *units)


def test_support_needs_the_releases_alone(machine: Machine) -> None:
    stamp = ("stamp", f"releases/{PINCH}.r2.json", "--batch", "list.csv", "--log", "log.jsonl")
    machine.run(*stamp, "-o", "units", "--form", "bin")
    dump = f"units/{PINCH}.TP-1.bin"
    at_hand = ("--releases", "releases")
    assert "serial    TP-1" in machine.run("decode", dump, *at_hand)
    assert json.loads(machine.run("decode", dump, *at_hand, "--json"))["identity"]["serial"] == "TP-1"
    assert "preset 1" in machine.run("decode", dump, *at_hand, "--source")
    wish = {"product": PINCH, "presets": [{"slot": 2, "values": {"attack": "at 2:30"}}]}
    (machine.folder / "wish.json").write_text(json.dumps(wish), encoding="utf-8")
    said = machine.run("restore", dump, *at_hand, "--presets", "wish.json", "-o", "made", "--reply")
    assert "Your Teasel Pinch, serial TP-1" in said
    assert "shipped" in machine.run(
        "restore", "--serial", "TP-2", "--log", "log.jsonl", *at_hand, "-o", "again.hex"
    )
    assert (machine.folder / "again.hex").exists()
    assert machine.run("restore", dump, *at_hand, "--slot", "9", "-o", "no", status=1) == ""
