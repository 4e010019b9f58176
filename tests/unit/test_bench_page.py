"""The page for the bench: its commands run as they stand, and its cautions are those of the layout."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.unit.pages import TOP, fences, page, spans, table
from tests.unit.test_readme import environment, example, lacking, layout_of

PAGE = page("examples/BENCH.md")


@pytest.mark.slow
def test_the_commands_do_what_is_shown(tmp_path: Path) -> None:
    shutil.copytree(TOP / "examples", tmp_path / "examples")
    variables = environment(tmp_path)
    blocks = list(fences(PAGE))
    assert [block.info for block in blocks].count("sh") == 4
    for at, block in enumerate(blocks):
        if block.info == "sh":
            done = subprocess.run(
                ["bash", "-c", f"set -e\n{block.text}"], cwd=tmp_path / "examples", env=variables,
                stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8", check=False,
            )
            assert done.returncode == 0, done.stdout
            shown = blocks[at + 1] if at + 1 < len(blocks) and blocks[at + 1].info == "text" else None
            assert shown is None or lacking(tuple(shown.text.splitlines()), done.stdout) == []


def test_the_cautions_are_word_for_word_those_of_a_product_with_every_hazard() -> None:
    source = example().replace("inside    low voltage", 'inside    mains\n  hot "U3"\n  battery "9 V block"')
    pages = {"bench", "stamp", "verify"}
    wanted = {text.line for text in layout_of(source).texts if pages & set(text.where)}
    told = " ".join(PAGE.split())
    assert len(wanted) == 9
    assert [line for line in wanted if line not in told] == []


def test_it_has_an_answer_to_what_goes_wrong() -> None:
    rows = table(PAGE, "it says", "do this")
    assert len(rows) > 7 and all(row["do this"] for row in rows)
    assert "teasel_pinch.r2.json" in spans(PAGE)
