"""check, why and build as a person or a program calls them: words, data, exit status, files."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from paramc import __version__
from paramc.catalogue import RULES
from paramc.cli.main import EXIT_OURS, paramc
from paramc.cli.say import plain

TOP = Path(__file__).resolve().parents[3]
GOOD = (TOP / "tests" / "cases" / "good" / "doorbell" / "doorbell.paramc").read_text(encoding="utf-8")
STOPPED = GOOD.replace("step 1 %", "step 3 %")


def call(*words: str) -> Result:
    return CliRunner().invoke(paramc, list(words), catch_exceptions=False)


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture
def product(tmp_path: Path) -> Path:
    path = tmp_path / "doorbell.paramc"
    path.write_text(GOOD, encoding="utf-8")
    return path


def test_version_and_help() -> None:
    assert call("--version").output == f"paramc {__version__}\n"
    assert "check" in call("--help").output
    assert "check" in call("-h").output


@pytest.mark.parametrize("words", ["check", "build x", "chek", "check --as xml x", "why"])
def test_wrong_use_is_two(words: str) -> None:
    answer = call(*words.split())
    assert answer.exit_code == 2
    assert "Usage" in answer.stderr


def test_check(product: Path) -> None:
    answer = call("check", str(product))
    assert (answer.exit_code, answer.stdout) == (0, "Nothing to stop or mend in 1 file.\n")
    product.write_text(STOPPED, encoding="utf-8")
    answer = call("check", str(product))
    assert answer.exit_code == 1
    assert answer.stdout.startswith("STOP ")
    assert "1 stop and 0 mends in 1 file." in answer.stdout


def test_mends_alone_are_good(product: Path) -> None:
    product.write_text(GOOD.replace("  inside low voltage", ""), encoding="utf-8")
    answer = call("check", str(product))
    assert answer.exit_code == 0
    assert answer.stdout.startswith("MEND inside-unsaid")


def test_check_as_data(product: Path) -> None:
    product.write_text(STOPPED, encoding="utf-8")
    answer = call("check", "--as", "json", str(product), str(product.with_name("none.paramc")))
    assert answer.exit_code == 1
    value = json.loads(answer.stdout)
    assert (value["stops"], value["mends"]) == (1, 0)
    assert len(value["troubles"]) == 1
    log = json.loads(call("check", "--as", "sarif", str(product)).stdout)
    assert log["runs"][0]["results"][0]["level"] == "error"
    line = call("check", "--as", "line", str(product)).stdout
    assert line.startswith(f"{product.as_posix()}:")


def test_a_missing_file_is_one(tmp_path: Path) -> None:
    answer = call("check", str(tmp_path / "none.paramc"))
    assert (answer.exit_code, answer.stdout) == (1, "")
    assert "cannot be read" in answer.stderr


def test_why() -> None:
    for rule in RULES:
        answer = call("why", rule.name)
        assert answer.exit_code == 0
        assert answer.stdout.startswith(f"{rule.severity.name} {rule.name}\n")
        assert "Wrong:" in answer.stdout
    assert len(call("why", "--list").stdout.splitlines()) == len(RULES)
    rows = json.loads(call("why", "--list", "--json").stdout)
    assert [row["rule"] for row in rows] == [rule.name for rule in RULES]
    answer = call("why", "does-not-fitt")
    assert answer.exit_code == 1
    assert "does-not-fit" in answer.stderr


def test_build(product: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    answer = call("build", str(product), "-o", str(out))
    assert answer.exit_code == 0
    assert "Memory: " in answer.stdout
    names = set(content(out))
    assert {"doorbell.h", "doorbell.c", "doorbell.factory.hex", "doorbell.layout.json", "doorbell.d"} <= names
    rule = (out / "doorbell.d").read_text(encoding="utf-8")
    assert f"{out.as_posix()}/doorbell.h" in rule
    assert rule.split(":", 1)[1].split()[0] == product.as_posix()
    value = json.loads(call("build", str(product), "-o", str(out), "--json").stdout)
    assert {row["name"] for row in value["report"]["files"]} | {".doorbell.written"} == names


def test_a_stop_leaves_the_folder_as_it_was(product: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    call("build", str(product), "-o", str(out))
    before = content(out)
    product.write_text(STOPPED, encoding="utf-8")
    answer = call("build", str(product), "-o", str(out))
    assert answer.exit_code == 1
    assert "Nothing was written." in answer.stderr
    assert content(out) == before
    answer = call("build", str(product), "-o", str(tmp_path / "new"))
    assert not (tmp_path / "new").exists()


def test_a_hand_edit_is_not_overwritten(product: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    call("build", str(product), "-o", str(out))
    (out / "doorbell.h").write_text("mine", encoding="utf-8")
    answer = call("build", str(product), "-o", str(out))
    assert answer.exit_code == 1
    assert "not as paramc wrote it" in answer.stderr
    assert call("build", str(product), "-o", str(out), "--force").exit_code == 0


def run(*words: str, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(TOP), **more}
    command = [sys.executable, "-m", "paramc", *words]
    return subprocess.run(command, capture_output=True, text=True, env=environment, check=False)


def test_a_fault_of_our_own_is_seventy_and_no_traceback(product: Path, tmp_path: Path) -> None:
    trap = tmp_path / "sitecustomize.py"
    trap.write_text(
        "import paramc.syntax.parse\n"
        "def broken(*a, **k):\n    raise RuntimeError('bang \\x1b[2J')\n"
        "paramc.syntax.parse.parse = broken\n",
        encoding="utf-8",
    )
    answer = run("check", str(product), PYTHONPATH=f"{tmp_path}{os.pathsep}{TOP}")
    assert answer.returncode == EXIT_OURS
    assert "a fault of paramc itself" in answer.stderr
    assert "Traceback" not in answer.stderr
    assert "\x1b" not in answer.stderr


def test_a_terminal_of_another_encoding(product: Path) -> None:
    product.write_text(STOPPED.replace('"Level"', '"L\u00e9vel \u266f"'), encoding="utf-8")
    answer = run("check", str(product), PYTHONIOENCODING="ascii")
    assert answer.returncode == 1
    assert "L?vel ?" in answer.stdout


@pytest.mark.parametrize("words", [("why", "--list"), ("why", "--list", "--json"), ("check", "FILE")])
def test_a_full_or_closed_standard_output_is_no_fault_of_ours(product: Path, words: tuple[str, ...]) -> None:
    """`why --list` is longer than what waits in memory, the answer of check is not."""
    said = [str(product) if word == "FILE" else word for word in words]
    command = [sys.executable, "-m", "paramc", *said]
    environment = {**os.environ, "PYTHONPATH": str(TOP)}

    def ends(**streams: Any) -> tuple[int, str]:
        done = subprocess.run(
            command, env=environment, check=False, stderr=subprocess.PIPE, encoding="utf-8", **streams
        )
        return done.returncode, done.stderr

    with open("/dev/full", "wb") as full:
        status, told = ends(stdout=full)
        assert status == 1 and told.startswith("Standard output cannot be written to: no space left on")
        assert told.count("\n") == 1
    reader, writer = os.pipe()
    os.close(reader)
    assert ends(stdout=writer) == (1, "")
    os.close(writer)
    assert ends(preexec_fn=lambda: os.close(1)) == (0, "")


def test_watch_builds_again(product: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = [sys.executable, "-m", "paramc", "build", str(product), "-o", str(out), "--watch"]
    environment = {**os.environ, "PYTHONPATH": str(TOP)}
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as watch:
        try:
            first = _wait_for(out / "doorbell.h", b"")
            product.write_text(GOOD.replace('"Level"', '"Loudness"'), encoding="utf-8")
            second = _wait_for(out / "doorbell.h", first)
            assert b"Loudness" in second
            assert watch.poll() is None
        finally:
            watch.terminate()


def test_watch_follows_what_is_borrowed(product: Path, tmp_path: Path) -> None:
    out, house = tmp_path / "out", tmp_path / "house.paramc"
    house.write_text('flag extra "Extra" { default off }\n', encoding="utf-8")
    product.write_text(GOOD + 'borrow "house.paramc"\n', encoding="utf-8")
    command = [sys.executable, "-m", "paramc", "build", str(product), "-o", str(out), "--watch"]
    environment = {**os.environ, "PYTHONPATH": str(TOP)}
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as watch:
        try:
            first = _wait_for(out / "doorbell.h", b"")
            house.write_text('flag further "Further" { default off }\n', encoding="utf-8")
            assert b"further" in _wait_for(out / "doorbell.h", first)
            assert watch.poll() is None
        finally:
            watch.terminate()


def _wait_for(path: Path, other_than: bytes) -> bytes:
    """The bytes of a file once it is there and has changed; a minute is far more than it takes."""
    for _ in range(600):
        if path.exists() and path.read_bytes() not in (other_than, b""):
            return path.read_bytes()
        time.sleep(0.1)
    raise AssertionError(f"{path.name} did not change")


def test_plain_text_is_safe() -> None:
    assert plain("a\x1b[2J\u202eb\n\u2028") == "a<U+001B>[2J<U+202E>b<U+000A><U+2028>"
    assert plain("\u00e9 \u266f") == "\u00e9 \u266f"
