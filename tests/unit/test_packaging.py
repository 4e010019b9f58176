"""Wheel, sdist and bare checkout each have the grammar and a command that runs."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import paramc
from paramc.syntax.grammar_file import grammar_text

TOP = Path(__file__).resolve().parents[2]

pytestmark = pytest.mark.slow

SHOW = (
    "import paramc, sys; from paramc.syntax.grammar_file import grammar_text;"
    "sys.stdout.buffer.write((paramc.__file__ + chr(10) + grammar_text()).encode())"
)


def call(*command: str | Path, cwd: Path, path: Path | None = None) -> bytes:
    """What a command says; `path` comes before everything that is installed."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    if path is not None:
        environment["PYTHONPATH"] = str(path)
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, env=environment, capture_output=True, check=False,
    )
    assert done.returncode == 0, done.stderr.decode("utf-8", "backslashreplace")
    return done.stdout


def pip(*words: str | Path, cwd: Path) -> None:
    call(sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", "--no-input", *words, cwd=cwd)


@pytest.fixture(scope="module")
def sdist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The top folder of the unpacked sdist."""
    folder = tmp_path_factory.mktemp("sdist")
    call(sys.executable, "-m", "hatchling", "build", "--target", "sdist", "--directory", folder, cwd=TOP)
    [archive] = folder.glob("*.tar.gz")
    call("tar", "-xzf", archive, cwd=folder)  # tarfile wants a filter from 3.12 on and has none in 3.11.2
    return folder / f"paramc-{paramc.__version__}"


def wheel_of(source: Path, folder: Path) -> Path:
    pip("wheel", source, "--no-deps", "--no-build-isolation", "--wheel-dir", folder, cwd=folder)
    [wheel] = folder.glob("paramc-*.whl")
    return wheel


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return wheel_of(TOP, tmp_path_factory.mktemp("wheel"))


def contents(wheel: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(wheel) as archive:
        return {name: archive.read(name) for name in archive.namelist() if "/RECORD" not in name}


def test_the_wheel_has_every_file_of_the_package_and_the_grammar(wheel: Path) -> None:
    package = {
        str(file.relative_to(TOP)) for file in (TOP / "paramc").rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    grammar = {f"paramc/{file.relative_to(TOP)}" for file in (TOP / "grammar").rglob("*") if file.is_file()}
    found = {name for name in contents(wheel) if ".dist-info/" not in name}
    assert {"paramc/grammar/paramc.lark", "paramc/grammar/LANGUAGE.md"} <= found
    assert found == package | grammar


def test_an_installed_wheel_runs_and_reads_its_own_grammar(wheel: Path, tmp_path: Path) -> None:
    target = tmp_path / "installed here"
    pip("install", "--no-deps", "--no-index", "--target", target, wheel, cwd=tmp_path)
    place, _, grammar = call(sys.executable, "-c", SHOW, cwd=tmp_path, path=target).partition(b"\n")
    assert Path(os.fsdecode(place)).is_relative_to(target)
    assert grammar.decode("utf-8") == grammar_text()
    said = call(target / "bin" / "paramc", "--version", cwd=tmp_path, path=target).decode("utf-8")
    assert re.search(rf"\b{re.escape(paramc.__version__)}\b", said)


def test_the_sdist_is_enough_for_the_same_wheel(sdist: Path, wheel: Path, tmp_path: Path) -> None:
    assert contents(wheel_of(sdist, tmp_path)) == contents(wheel)


def test_the_sdist_has_what_the_tests_need(sdist: Path) -> None:
    for name in ("tests/run", "tests/conftest.py", ".setup/python", ".setup/tools", "examples", "README.md"):
        assert (sdist / name).exists(), name


def test_a_bare_checkout_reads_its_grammar(sdist: Path, tmp_path: Path) -> None:
    place, _, grammar = call(sys.executable, "-c", SHOW, cwd=tmp_path, path=sdist).partition(b"\n")
    assert Path(os.fsdecode(place)).is_relative_to(sdist)
    assert grammar.decode("utf-8") == grammar_text()
