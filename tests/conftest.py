"""What all tests share: which tools a test needs, and that nothing is left out in silence.

How tests find each other: pyproject.toml puts the top of the repository on the path and imports in importlib
mode, so equal file names in different folders do not clash, folders need no __init__.py (this one has one so
that no other package called `tests` can stand in for it), and a helper is imported by its whole name:
`from tests.target.chips import on_every_chip`.
"""

from __future__ import annotations

import glob
import os
import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

_TOOLS = Path(__file__).resolve().parent.parent / ".setup" / "tools"
_LEFT_OUT = pytest.StashKey[dict[str, list[str]]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="write expected outputs anew; read the difference")


@pytest.fixture
def update(request: pytest.FixtureRequest) -> bool:
    """Whether expected outputs are written anew instead of compared; never under CI."""
    wanted = bool(request.config.getoption("--update"))
    if wanted and _under_ci():
        raise pytest.UsageError("--update is for people, not for CI")
    return wanted


def _under_ci() -> bool:
    return os.environ.get("CI", "") != ""


def _rows() -> Iterator[tuple[str, str, str]]:
    """Name, what it is found by, Debian package: the rows of .setup/tools."""
    for line in _TOOLS.read_text(encoding="utf-8").splitlines():
        if line.strip() and not line.startswith("#"):
            name, found_by, package = line.split()
            yield name, found_by, package


@cache
def _packages() -> dict[str, list[str]]:
    """Each tool that tests may need, with the Debian packages that it still lacks here.

    Tools named in the environment variable PARAMC_WITHOUT count as lacking.
    """
    without = os.environ.get("PARAMC_WITHOUT", "").split()
    lacking: dict[str, list[str]] = {}
    for name, found_by, package in _rows():
        missing = lacking.setdefault(name, [])
        here = glob.glob(found_by) if found_by.startswith("/") else shutil.which(found_by)
        if not here or name in without:
            missing.append(package)
    return lacking


def _lacking(item: pytest.Item) -> tuple[str, ...]:
    """The tools that a test needs and that are not here."""
    needed = [name for mark in item.iter_markers("needs") for name in mark.args]
    if unknown := sorted(set(needed) - set(_packages())):
        raise pytest.UsageError(f"{item.nodeid} needs {', '.join(unknown)}: not in {_TOOLS.name}")
    return tuple(sorted({name for name in needed if _packages()[name]}))


@pytest.hookimpl(trylast=True)  # after -m and -k: what is not asked for needs no tools
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    lacking = {item: _lacking(item) for item in items}
    left_out = [item for item in items if lacking[item]]
    if not left_out:
        return
    tools = sorted({tool for item in left_out for tool in lacking[item]})
    if _under_ci():
        packages = sorted({package for tool in tools for package in _packages()[tool]})
        raise pytest.UsageError(
            f"{len(left_out)} tests need {', '.join(tools)}, and under CI no test is left out. "
            f"Debian packages: {' '.join(packages)}"
        )
    reasons: dict[str, list[str]] = {}
    for item in left_out:
        reasons.setdefault(" and ".join(lacking[item]), []).append(item.nodeid)
    config.stash[_LEFT_OUT] = reasons
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if not lacking[item]]


def pytest_sessionfinish(session: pytest.Session) -> None:
    if _under_ci() and _not_run(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def _not_run(config: pytest.Config) -> list[str]:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    reports = [] if reporter is None else [
        report for kind in ("skipped", "xfailed") for report in reporter.stats.get(kind, [])
    ]
    return [report.nodeid for report in reports]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if reasons := config.stash.get(_LEFT_OUT, {}):
        terminalreporter.section("left out")
        for tools, tests in reasons.items():
            terminalreporter.line(f"{len(tests)} for want of {tools}, first {tests[0]}")
        packages = sorted({package for missing in _packages().values() for package in missing})
        terminalreporter.line(f"To run them too: apt-get install {' '.join(packages)}")
    if _under_ci() and (skipped := _not_run(config)):
        terminalreporter.section("skipped, which is a failure under CI")
        for nodeid in skipped:
            terminalreporter.line(nodeid)
