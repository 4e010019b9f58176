"""Imports go down only; third-party packages stay in their places; files and folders keep their bounds."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
PACKAGE = TOP / "paramc"

# A part may import parts of lower floors, never one of its own floor. `paramc` alone is its version.
FLOORS = {
    "frozen": -1,
    "text": 0, "numbers": 0,
    "syntax": 1, "model": 1,
    "check": 2, "tables": 2,
    "layout": 3,
    "image": 4, "emit": 4, "catalogue": 4,
    "release": 5, "driver": 5, "plot": 5,
    "cli": 6,
    "__main__": 7,
}

# Where each dependency may be imported. `lazy`: only inside a function, so that other commands do not pay.
THIRD_PARTY = {
    "lark": ({"syntax"}, False),
    "jinja2": ({"emit"}, False),
    "click": ({"cli"}, False),
    "jsonschema": (set(FLOORS), True),
    "intelhex": (set(FLOORS), True),
}

LONGEST_FILE = 450


@dataclass(frozen=True, slots=True)
class Import:
    part: str  # who imports: a package or module directly under paramc, or "paramc" itself
    module: str  # the whole name of what is imported
    place: str
    lazy: bool  # inside a function


def imports_of(text: str, file: Path) -> list[Import]:
    """Every import in a file of the package, also those inside functions and under TYPE_CHECKING.

    `file` is relative to the top of the repository. `from paramc import x` counts as paramc.x.
    """
    parts = file.with_suffix("").parts
    part = parts[1] if parts[1] != "__init__" else "paramc"
    package = list(parts[:-1])
    return [
        Import(part, module, f"{file}:{node.lineno}", lazy)
        for node, lazy in _nodes(ast.parse(text), False)
        for module in _modules(node, package)
    ]


def _nodes(node: ast.AST, lazy: bool) -> Iterator[tuple[ast.Import | ast.ImportFrom, bool]]:
    if isinstance(node, ast.Import | ast.ImportFrom):
        yield node, lazy
    for child in ast.iter_child_nodes(node):
        yield from _nodes(child, lazy or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def _modules(node: ast.Import | ast.ImportFrom, package: list[str]) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    base = package[: len(package) - node.level + 1] if node.level else []
    module = ".".join(base + ([node.module] if node.module else []))
    if module == "paramc":
        return [f"paramc.{alias.name}" for alias in node.names]
    return [module]


def fault_of(found: Import) -> str | None:
    """What is wrong with an import, as a sentence; None where it may be."""
    root, _, rest = found.module.partition(".")
    if root == "paramc":
        return _floor_fault(found, rest.partition(".")[0])
    if root in THIRD_PARTY:
        parts, lazy = THIRD_PARTY[root]
        if found.part not in parts:
            return f"{found.place}: {root} is imported only by {', '.join(sorted(parts))}."
        if lazy and not found.lazy:
            return f"{found.place}: {root} is imported only inside functions."
        return None
    if root not in sys.stdlib_module_names:
        return f"{found.place}: {root} is not a dependency of paramc."
    return None


def _floor_fault(found: Import, other: str) -> str | None:
    if other in ("", "__version__", found.part):
        return None
    if found.part == "paramc":
        return f"{found.place}: the package itself imports nothing of its parts; it imports {other}."
    if other not in FLOORS:
        return f"{found.place}: {other} has no floor."
    if FLOORS[other] >= FLOORS[found.part]:
        return (
            f"{found.place}: {found.part} is on floor {FLOORS[found.part]} and imports {other} "
            f"of floor {FLOORS[other]}."
        )
    return None


def sources() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def test_every_part_has_a_floor() -> None:
    parts = {
        entry.stem for entry in PACKAGE.iterdir()
        if entry.suffix == ".py" or (entry.is_dir() and any(entry.rglob("*.py")))
    }
    assert parts - {"__init__"} <= set(FLOORS)


def test_imports_go_down_only() -> None:
    found = [
        one for file in sources()
        for one in imports_of(file.read_text(encoding="utf-8"), file.relative_to(TOP))
    ]
    assert len(found) > len(sources())  # the reading of imports is not blind
    assert [fault for one in found if (fault := fault_of(one))] == []


@pytest.mark.parametrize(("file", "text", "fault"), [
    ("paramc/syntax/a.py", "from paramc.model import Product", "syntax is on floor 1 and imports model"),
    ("paramc/model/a.py", "from ..syntax import nodes", "model is on floor 1 and imports syntax"),
    ("paramc/image/a.py", "import paramc.emit.c", "image is on floor 4 and imports emit"),
    ("paramc/layout/a.py", "def f():\n from paramc import cli", "layout is on floor 3 and imports cli"),
    ("paramc/text/a.py", "from paramc.odds import ends", "odds has no floor"),
    ("paramc/__init__.py", "from .cli import main", "imports nothing of its parts"),
    ("paramc/model/a.py", "import lark", "lark is imported only by syntax"),
    ("paramc/model/a.py", "if 1:\n from lark.lexer import Token", "lark is imported only by syntax"),
    ("paramc/image/a.py", "import intelhex", "only inside functions"),
    ("paramc/image/a.py", "import numpy", "not a dependency"),
])
def test_a_wrong_import_is_seen(file: str, text: str, fault: str) -> None:
    [found] = imports_of(text, Path(file))
    assert fault in (fault_of(found) or "")


@pytest.mark.parametrize(("file", "text"), [
    ("paramc/layout/a.py", "from paramc.tables import fit"),
    ("paramc/driver.py", "from . import __version__"),
    ("paramc/emit/sheet/page.py", "from ..views import View"),
    ("paramc/emit/a.py", "from .views import View"),
    ("paramc/cli/a.py", "import paramc"),
    ("paramc/image/a.py", "def f():\n import intelhex"),
    ("paramc/syntax/a.py", "from lark import Lark"),
    ("paramc/text/a.py", "import re"),
])
def test_a_right_import_is_let_through(file: str, text: str) -> None:
    [found] = imports_of(text, Path(file))
    assert fault_of(found) is None


def test_files_stay_short() -> None:
    lines = {str(f.relative_to(TOP)): len(f.read_text(encoding="utf-8").splitlines()) for f in sources()}
    assert {file: count for file, count in lines.items() if count > LONGEST_FILE} == {}


def test_every_package_says_what_lives_there() -> None:
    silent = [
        str(folder.relative_to(TOP)) for folder in {file.parent for file in sources()}
        if not (folder / "__init__.py").is_file()
        or not ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8")))
    ]
    assert silent == []


def test_the_top_holds_what_it_should() -> None:
    ignored = {line.strip("/") for line in (TOP / ".gitignore").read_text(encoding="utf-8").split()}
    found = {entry.name for entry in TOP.iterdir() if not entry.name.startswith(".")} - ignored
    assert found == {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "paramc", "grammar", "tests", "examples",
    }
