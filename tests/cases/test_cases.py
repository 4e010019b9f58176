"""Inputs and what is said or made of them, side by side.

bad/RULE-*.paramc has its rendered answer in a .txt beside it and must yield the rule of its name. Where
bad/before has a file of the same name, that is what was released before it; bad/along has a product that is
checked together with it, and bad/beside what is borrowed.
together/ten.paramc breaks ten rules at once, and each answer reads the same alone.
good/NAME/NAME.paramc has every file that a build of it writes beside it, but for images in
binary, which the Intel HEX shows.

    python -m pytest tests/cases --update       writes the answers anew; read the difference
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from paramc.catalogue import RULES
from paramc.cli.files import Output
from paramc.cli.renderers import report, text
from paramc.driver import Understood, line, outputs, understand
from paramc.emit.older_view import older_cost
from paramc.emit.packing import packing_cost
from paramc.syntax.borrow import Reader
from paramc.text.diagnostic import Diagnostic, has_stop
from paramc.text.source import Source
from tests.released import released

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad").glob("*.paramc"))
GOOD = sorted((HERE / "good").glob("*/*.paramc"))


def source(path: Path) -> Source:
    # The name alone, so that answers do not depend on where the checkout lies.
    return Source(path.name, path.read_text(encoding="utf-8"))


def beside(folder: Path) -> Reader:
    """Gives the files that a case borrows."""
    def read(name: str) -> Source | str:
        path = folder / name
        return Source(name, path.read_text(encoding="utf-8")) if path.exists() else "is not there"

    return read


def same(path: Path, found: bytes, update: bool) -> None:
    if update:
        path.write_bytes(found)
    assert path.exists(), f"{path.name} is missing; run with --update and read it"
    assert found.decode() == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", BAD, ids=[path.stem for path in BAD])
def test_bad(path: Path, update: bool) -> None:
    before = path.parent / "before" / path.name
    before_it = released([source(before).text] if before.exists() else [])
    answer = understand(source(path), before_it, read=beside(path.parent))
    diagnostics = (*answer.diagnostics, *_of_the_line(path, answer.value))
    rule = next((name for name in _names_longest_first() if re.match(rf"{name}(-\d+)?\Z", path.stem)), None)
    assert rule is not None, f"{path.stem} is named after no rule"
    assert rule in {found.rule.name for found in diagnostics}
    same(path.with_suffix(".txt"), text.render(diagnostics).encode(), update)


def _of_the_line(path: Path, found: Understood | None) -> tuple[Diagnostic, ...]:
    """What there is to say of the product together with the one that lies in bad/along."""
    along = path.parent / "along" / path.name
    if not along.exists():
        return ()
    other = understand(Source(f"along/{along.name}", along.read_text(encoding="utf-8"))).value
    assert other is not None and found is not None
    return line([other, found])


def test_what_was_released_before_belongs_to_a_case() -> None:
    before = {path.name for path in (HERE / "bad" / "before").iterdir()}
    assert len(before) > 10
    assert before <= {path.name for path in BAD}


def test_every_rule_has_a_case() -> None:
    stems = {path.stem for path in BAD}
    assert {rule.name for rule in RULES} <= {re.sub(r"-\d+\Z", "", stem) for stem in stems} | stems


def test_ten_mistakes_at_once_have_ten_answers_each_readable_alone(update: bool) -> None:
    path = HERE / "together" / "ten.paramc"
    found = understand(source(path)).diagnostics
    assert len(found) == len({one.rule.name for one in found}) == 10
    alone = [text.render([one]) for one in found]
    assert "\n".join(alone) == text.render(found)
    same(path.with_suffix(".txt"), text.render(found).encode(), update)


@pytest.mark.parametrize("path", GOOD, ids=[path.stem for path in GOOD])
def test_good(path: Path, update: bool) -> None:
    answer = understand(source(path))
    assert answer.value is not None
    assert not has_stop(answer.diagnostics)
    made = outputs(answer.value.layout)
    for artifact in made:
        if not artifact.name.endswith(".bin"):
            same(path.with_name(artifact.name), artifact.data, update)
    layout = answer.value.layout
    written = tuple(Output(artifact.name, artifact.data) for artifact in made)
    built = report.Built(layout, written, packing_cost(layout), older_cost(layout, ()), None)
    lines = report.as_text(built, "out")
    same(path.with_name("report.txt"), ("\n".join(lines) + "\n").encode(), update)


def _names_longest_first() -> list[str]:
    return sorted((rule.name for rule in RULES), key=len, reverse=True)
