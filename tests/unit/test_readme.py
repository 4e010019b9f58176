"""What README.md shows is what happens: its commands run in their order, and its tables are whole.

A block of `sh` is run as it stands; `sh exits 1` says the status that it ends with. What stands in a block
of `text` right below is found in the output, line for line in that order, with `...` for what is left out.
Blocks of `sh ci` make the very surroundings in which these tests run, so they are not run from inside them.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from paramc.cli.borrowing import reader_beside
from paramc.cli.main import paramc
from paramc.driver import understand
from paramc.layout.layout import Layout
from paramc.text.source import Source
from tests.stories import text_of
from tests.unit.pages import TOP, Fence, fences, page, prose, spans, table

PAGE = page("README.md")
BY_CI = "sh ci"


@dataclass(frozen=True, slots=True)
class Step:
    """A block of commands, the status that it is to end with, and lines of its output."""

    commands: Fence
    status: int
    shown: tuple[str, ...]


def steps() -> list[Step]:
    blocks = list(fences(PAGE))
    found = []
    for at, block in enumerate(blocks):
        if block.info.split()[:1] != ["sh"] or block.info == BY_CI:
            continue
        status = re.fullmatch(r"sh(?: exits (\d+))?", block.info)
        assert status, block.info
        end = block.line + block.text.count("\n") + 2
        below = blocks[at + 1] if at + 1 < len(blocks) and blocks[at + 1].line == end else None
        shown = tuple(below.text.splitlines()) if below and below.info == "text" else ()
        found.append(Step(block, int(status[1] or 0), shown))
    return found


def section(heading: str) -> str:
    """The text under a heading, up to the next one of its level."""
    [found] = re.findall(rf"^## {re.escape(heading)}\n(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    return str(found)


def layout_of(text: str) -> Layout:
    answer = understand(Source("product.paramc", text))
    assert answer.value is not None, answer.diagnostics
    return answer.value.layout


def example() -> str:
    return text_of("teasel_pinch")


# ---- the commands


def environment(folder: Path) -> dict[str, str]:
    """A paramc of this checkout first on the PATH, for whichever Python runs the tests."""
    tools = folder / "tools"
    tools.mkdir()
    command = tools / "paramc"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m paramc "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    return {
        **os.environ,
        "PATH": os.pathsep.join([str(tools), os.environ["PATH"]]),
        "PYTHONPATH": str(TOP),
        "PYTHONIOENCODING": "utf-8",
    }


def lacking(shown: tuple[str, ...], output: str) -> list[str]:
    """The shown lines that do not stand in the output behind those before them."""
    lines = iter(output.splitlines())
    return [line for line in shown if line != "..." and line not in lines]


@pytest.mark.slow
@pytest.mark.needs("gcc")
def test_the_commands_do_what_is_shown(tmp_path: Path) -> None:
    shutil.copytree(TOP / "examples", tmp_path / "examples")
    where = tmp_path / "where"
    where.write_text(str(tmp_path), encoding="utf-8")
    variables = environment(tmp_path)
    for step in steps():
        # Each block begins in the folder where the one before has ended, as in a person's shell.
        script = f'set -e\ncd "$(cat "{where}")"\ntrap \'pwd > "{where}"\' EXIT\n{step.commands.text}'
        done = subprocess.run(
            ["bash", "-c", script], env=variables, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL, encoding="utf-8", check=False,
        )
        at = f"README.md, line {step.commands.line}:\n{done.stdout}"
        assert done.returncode == step.status, at
        assert lacking(step.shown, done.stdout) == [], at


def test_the_comparison_of_outputs_can_fail() -> None:
    assert lacking(("a", "...", "c"), "a\nb\nc\n") == []
    assert lacking(("c", "a"), "a\nb\nc\n") == ["a"]
    assert lacking(("ab",), "abc\n") == ["ab"]


def test_every_block_of_output_belongs_to_commands() -> None:
    texts = [fence for fence in fences(PAGE) if fence.info == "text"]
    assert len(texts) == len([step for step in steps() if step.shown]) > 10
    assert {fence.info for fence in fences(PAGE)} == {BY_CI, "sh", "sh exits 1", "text"}


def test_what_ci_runs_is_there() -> None:
    commands = [line for fence in fences(PAGE) if fence.info == BY_CI for line in fence.text.splitlines()]
    assert commands == ["bash examples/run", "bash tests/run"]
    assert "tests/run" in (TOP / ".ci" / "run").read_text(encoding="utf-8")


@pytest.mark.slow
def test_the_walk_through_the_examples_reaches_its_end(tmp_path: Path) -> None:
    shutil.copytree(TOP / "examples", tmp_path / "examples")
    (tmp_path / ".setup").mkdir()
    (tmp_path / ".setup" / "python").write_text("mkdir -p .build\n", encoding="utf-8")
    done = subprocess.run(
        ["bash", "examples/run"], cwd=tmp_path, env=environment(tmp_path), capture_output=True,
        encoding="utf-8", check=False,
    )
    assert done.returncode == 0, done.stderr
    commands = re.findall(r"^\$ paramc (\w+)", done.stdout, re.MULTILINE)
    assert commands == ["check", "build", "stamp", "verify", "decode", "compare", "stamp", "restore"]


# ---- the tables and lists


@pytest.mark.slow
def test_the_files_are_those_that_a_build_writes(tmp_path: Path) -> None:
    named = [one for row in table(PAGE, "file") for one in spans(row["file"])]
    subprocess.run(
        [sys.executable, "-m", "paramc", "build", "examples/teasel_pinch.paramc", "-o", str(tmp_path)],
        cwd=TOP, check=True, capture_output=True,
    )
    assert {file.name for file in tmp_path.iterdir() if not file.name.startswith(".")} == {
        one.replace("NAME", "teasel_pinch") for one in named
    }


def test_the_commands_are_those_that_there_are() -> None:
    listed = [spans(row["command"])[0].split()[1] for row in table(PAGE, "command", "does")]
    assert sorted(listed) == sorted(paramc.commands)


def test_what_is_not_there_is_not_there() -> None:
    missing = section("What is not there yet")
    [commands] = re.findall(r"command, (.*?)\.", missing, re.DOTALL)
    assert spans(commands)
    assert set(spans(commands)) & set(paramc.commands) == set()


def test_the_cautions_are_word_for_word_those_of_a_product() -> None:
    product = example().replace("inside    low voltage", "inside    mains")
    wanted = [text.line for text in layout_of(product).texts if "readme" in text.where]
    told = " ".join(section("Cautions").split())
    assert len(wanted) > 3
    assert [line for line in wanted if line not in told] == []


@pytest.mark.slow
def test_the_examples_are_all_told_of_and_without_fault() -> None:
    rows = table(page("examples/README.md"), "file")
    files = sorted((TOP / "examples").glob("*.paramc"))
    assert sorted(re.findall(r"\[(.*?)\]", " ".join(row["file"] for row in rows))) == [f.name for f in files]
    for file in files:
        assert understand(
            Source(file.name, file.read_text(encoding="utf-8")), read=reader_beside(str(file))
        ).diagnostics == (), file.name


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "examples/README.md", "grammar/LANGUAGE.md"])
def test_links_lead_somewhere(name: str) -> None:
    text = page(name)
    anchors = {
        re.sub(r"[^\w -]", "", line.lstrip("# ").lower()).replace(" ", "-")
        for line in prose(text).splitlines() if line.startswith("#")
    }
    links = re.findall(r"\]\(([^)]+)\)", prose(text))
    for link in links:
        file, _, anchor = link.partition("#")
        assert (TOP / name).parent.joinpath(file).exists() if file else anchor in anchors, link
