"""What the command loads before it has anything to do."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]

HEAVY = {"lark", "jinja2", "jsonschema", "intelhex"}


def test_help_loads_no_heavy_package() -> None:
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "paramc", "--help"],
        cwd=TOP, capture_output=True, encoding="utf-8", check=False,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )
    lines = [line for line in done.stderr.splitlines() if line.startswith("import time:")]
    assert done.returncode == 0, done.stderr
    loaded = {line.rpartition("|")[2].strip().partition(".")[0] for line in lines}
    assert {"paramc", "click"} <= loaded  # the list of imports is not blind
    assert loaded & HEAVY == set()


def test_check_loads_no_heavy_package() -> None:
    """Lark works out the parser's tables, once; the templates and all that is written belong to a build."""
    program = "import sys, paramc.cli.check; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", program], cwd=TOP, capture_output=True, check=True)
    loaded = set(done.stdout.decode().split())
    assert "paramc.check.check" in loaded
    of_a_build = {"paramc.layout.json_form", "paramc.release.read", "paramc.image.factory"}
    assert loaded & (HEAVY | of_a_build) == set()
