"""`paramc check` over several products, in all four forms."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from paramc.check.example import DOORBELL
from tests.unit.pages import TOP


def check(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "paramc", "check", "one.paramc", "other.paramc", *words]
    environment = {"PYTHONPATH": str(TOP), "PATH": "/usr/bin:/bin"}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture
def two(tmp_path: Path) -> Path:
    (tmp_path / "one.paramc").write_text(DOORBELL, encoding="utf-8")
    other = DOORBELL.replace('doorbell "Doorbell"', 'knocker "Knocker"').replace("0x1234", "0x4B4E")
    (tmp_path / "other.paramc").write_text(other, encoding="utf-8")
    return tmp_path


SENTENCE = 'Product "Knocker" has the prefix db, which is that of product "Doorbell".'


def test_for_people(two: Path) -> None:
    done = check(two)
    assert done.returncode == 1
    assert done.stdout.startswith(f"STOP prefix-shared, in other.paramc, line 1, column 9\n  {SENTENCE}\n")
    assert "the other product   in one.paramc" in done.stdout
    assert done.stdout.endswith("1 stop and 0 mends in 2 files.\n")


def test_a_line_each(two: Path) -> None:
    assert check(two, "--as", "line").stdout == f"other.paramc:1:9: stop prefix-shared: {SENTENCE}\n"


def test_as_json(two: Path) -> None:
    data = json.loads(check(two, "--as", "json").stdout)
    [found] = data["diagnostics"]
    assert (data["stops"], data["files"]) == (1, ["one.paramc", "other.paramc"])
    assert (found["rule"], found["sentence"], found["place"]["file"]) == (
        "prefix-shared", SENTENCE, "other.paramc",
    )  # fmt: skip
    assert found["also"][0]["place"]["file"] == "one.paramc"


def test_as_sarif(two: Path) -> None:
    [run] = json.loads(check(two, "--as", "sarif").stdout)["runs"]
    [result] = run["results"]
    assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"] == "prefix-shared"
    assert result["level"] == "error"
    [other] = result["relatedLocations"]
    assert other["physicalLocation"]["artifactLocation"]["uri"] == "one.paramc"
