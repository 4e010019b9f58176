"""A test that needs a tool that is not here: left out with a word, and a failure under CI."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]

TESTS = '''
import pytest

def test_plain():
    pass

@pytest.mark.needs("avr-gcc", "simavr")
def test_needing():
    pass
'''


def session(folder: Path, text: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A run of pytest over one file of tests with the conftest.py of the project."""
    (folder / "test_it.py").write_text(text, encoding="utf-8")
    (folder / "pytest.ini").write_text(
        "[pytest]\nmarkers =\n    needs: tools\naddopts = --strict-markers\n", encoding="utf-8"
    )
    surroundings = {key: value for key, value in os.environ.items() if key not in ("CI", "PARAMC_WITHOUT")}
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "tests.conftest", "-p", "no:cacheprovider",
         "--rootdir", folder, folder],
        env={**surroundings, "PYTHONPATH": str(TOP), **environment}, cwd=folder,
        capture_output=True, encoding="utf-8", check=False,
    )


def test_it_is_left_out_with_a_word(tmp_path: Path) -> None:
    done = session(tmp_path, TESTS, PARAMC_WITHOUT="simavr")
    assert done.returncode == 0, done.stdout
    assert "1 passed, 1 deselected" in done.stdout
    assert "1 for want of simavr, first test_it.py::test_needing" in done.stdout
    assert "libsimavr-dev" in done.stdout


def test_under_ci_it_is_a_failure(tmp_path: Path) -> None:
    done = session(tmp_path, TESTS, PARAMC_WITHOUT="simavr avr-gcc", CI="true")
    assert done.returncode == pytest.ExitCode.USAGE_ERROR
    assert "1 tests need avr-gcc, simavr, and under CI no test is left out" in done.stderr


def test_a_tool_that_nobody_knows_is_a_failure(tmp_path: Path) -> None:
    done = session(tmp_path, TESTS.replace("simavr", "simavrr"))
    assert done.returncode == pytest.ExitCode.USAGE_ERROR
    assert "simavrr: not in tools" in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize(("ci", "status"), [("", 0), ("true", 1)])
def test_a_skipped_test_is_a_failure_under_ci(ci: str, status: int, tmp_path: Path) -> None:
    text = "import pytest\n\ndef test_good():\n    pass\n\n" \
        "def test_skipping():\n    pytest.importorskip('no_such_module')\n"
    done = session(tmp_path, text, CI=ci)
    assert done.returncode == status, done.stdout
    assert ("skipped, which is a failure" in done.stdout) == (ci != "")
