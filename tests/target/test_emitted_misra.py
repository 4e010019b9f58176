"""What cppcheck's MISRA addon says of the emitted C is what misra.txt lists, with a reason for each."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from tests.released import released
from tests.target.emitted import emit, layout_of
from tests.target.products import ALL
from tests.target.routines import plain, rules
from tests.target.tables_in_c import definitions
from tests.target.test_third_release import texts
from tests.target.traces import PRODUCT

LIST = Path(__file__).with_name("misra.txt")


def listed() -> dict[str, str]:
    lines = [line for line in LIST.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return {number: reason.strip() for number, reason in (line.split(maxsplit=1) for line in lines)}


def reported(*sources: Path) -> dict[str, list[str]]:
    """The rules that are reported, each with where."""
    done = subprocess.run(
        ["cppcheck", "--addon=misra", "--enable=style", "--quiet", "--std=c99", "--language=c",
         "--template={id} {file}:{line} {message}", "-I", sources[0].parent, *sources],
        capture_output=True, encoding="utf-8", check=True,
    )  # fmt: skip
    found: dict[str, list[str]] = {}
    for line in done.stderr.splitlines():
        # Any other word of the checker on what cannot be right, such as a shift too far.
        if match := re.match(r"misra-c2012-([0-9.]+) (\S+)", line):
            found.setdefault(match[1], []).append(match[2])
    assert "misra" in done.stderr  # the addon has run
    return found


@pytest.mark.slow
@pytest.mark.needs("cppcheck")
def test_the_rules_that_remain_are_listed(tmp_path: Path) -> None:
    found: dict[str, list[str]] = {}
    for name, text in {**ALL, "play": PRODUCT}.items():
        made = emit(layout_of(text), tmp_path / name)
        for rule, places in reported(made.source, made.folder / f"{made.name}_bench.c").items():
            found.setdefault(rule, []).extend(places)
    # A release that reads earlier ones, and has codes that are not in use.
    releases = released(texts())
    made = emit(releases[-1], tmp_path / "third", releases[:-1])
    for rule, places in reported(made.source, made.folder / f"{made.name}_bench.c").items():
        found.setdefault(rule, []).extend(places)
    # The evaluators of every form and width, whichever of them these products need.
    tables = tmp_path / "tables.c"
    tables.write_text(definitions([*rules(), *plain()]), encoding="utf-8")
    for rule, places in reported(tables).items():
        found.setdefault(rule, []).extend(places)
    assert {rule: places for rule, places in found.items() if rule not in listed()} == {}
    assert sorted(set(listed()) - set(found)) == []


def test_every_rule_has_a_reason() -> None:
    assert listed()
    assert all(re.fullmatch(r"\d+\.\d+", rule) and len(reason) > 20 for rule, reason in listed().items())
