"""DEVELOPERS.md says where things are and what stands on what."""

from __future__ import annotations

import re
import tomllib

from tests.unit.pages import TOP, fences, page, prose, spans, table
from tests.unit.test_floors import FLOORS, LONGEST_FILE, THIRD_PARTY

PAGE = page("DEVELOPERS.md")


def test_the_picture_has_every_part_on_its_floor() -> None:
    picture = next(fence.text for fence in fences(PAGE) if fence.heading == "The floors")
    drawn: dict[str, int] = {}
    floor = -1
    for line in picture.splitlines():
        floor = int(line[:3]) if line[:3].strip() else floor
        drawn |= {word: floor for word in re.findall(r"(?:^.{3}|\s{3})\s*([a-z_]+)(?=\s{3}|$)", line)}
    assert drawn == FLOORS


def test_the_folders_are_there() -> None:
    named = {folder for row in table(PAGE, "folder", "what lives there") for folder in spans(row["folder"])}
    assert all((TOP / folder).is_dir() for folder in named)
    parts = {f"paramc/{made.parent.name}" for made in (TOP / "paramc").glob("*/__init__.py")}
    assert {folder for folder in named if folder.startswith("paramc/")} == parts


def test_the_folders_of_tests_are_there() -> None:
    named = {folder for row in table(PAGE, "folder", "what is in it") for folder in spans(row["folder"])}
    found = {f"tests/{entry.name}" for entry in (TOP / "tests").iterdir() if entry.is_dir()}
    assert named == {folder for folder in found if "__" not in folder}


def test_each_dependency_has_a_reason() -> None:
    project = tomllib.loads(page("pyproject.toml"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["tests"]]
    listed = {row["package"] for row in table(PAGE, "package") if row["reason"]}
    assert listed == {re.split(r"[<>=]", one)[0] for one in wanted}


def test_files_that_are_named_are_there() -> None:
    named = {one for one in spans(prose(PAGE)) if re.fullmatch(r"[.\w/]+\.(py|md|lark)", one)}
    assert len(named) > 5
    assert {one for one in named if not ((TOP / one).exists() or (TOP / "paramc" / one).exists())} == set()


def test_files_are_touched_where_it_says() -> None:
    [paragraph] = re.findall(r"^- \*\*Files are touched(.*?)^- ", PAGE, re.MULTILINE | re.DOTALL)
    touching = re.compile(r"\bread_(text|bytes)\(|\bwrite_(text|bytes)\(|\bopen\(|\bfdopen\(")
    found = {
        str(file.relative_to(TOP)) for file in (TOP / "paramc").rglob("*.py")
        if "cli" not in file.parts and touching.search(re.sub(r"def open\(", "", file.read_text("utf-8")))
    }
    assert set(spans(paragraph)) - {"cli"} == found


def test_bounds_and_owners_of_imports_are_those_of_the_tests() -> None:
    assert f"{LONGEST_FILE} at the most" in " ".join(PAGE.split())
    [sentence] = re.findall(r"^Only (`syntax`.*?);", PAGE, re.MULTILINE | re.DOTALL)
    said = {
        package: ({part}, False)
        for part, package in re.findall(r"`(\w+)`(?: imports)? (\w+)", " ".join(sentence.split()))
    }
    assert said == {package: owner for package, owner in THIRD_PARTY.items() if not owner[1]}


def test_every_folder_of_tests_is_run() -> None:
    """tests/run names them, for two processes."""
    script = (TOP / "tests" / "run").read_text(encoding="utf-8")
    lists = re.findall(r'^(?:CHIPS|REST|LIGHT)="(.*)"$', script, re.MULTILINE)
    named = re.findall(r"tests/(\w+)", " ".join(lists))
    there = {file.relative_to(TOP / "tests").parts[0] for file in (TOP / "tests").rglob("test_*.py")}
    assert len(named) == len(set(named)) and set(named) == there
