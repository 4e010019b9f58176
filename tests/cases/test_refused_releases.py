"""Every way in which `paramc release` refuses, and what it says: refused/NAME.txt has the whole answer.

A rule that stops is refused as a check is, and has its case in bad/; one of them stands here for all. The
rest is what is said of the number, of mends, of releases beside the source and of files.

    python -m pytest tests/cases --update       writes the answers anew; read the difference
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

import paramc.cli.release
import paramc.cli.releases
import paramc.release.read
from paramc.check import history
from paramc.image import again
from paramc.layout.earlier import controllers, followed, ways
from tests.unit.cli.command import Command
from tests.unit.cli.test_release import FIRST, second
from tests.unit.release.test_release_file import signed

pytestmark = pytest.mark.slow

HERE = Path(__file__).parent / "refused"
SOURCE = Path("gate.paramc")
RELEASES = Path("releases")
KEPT = RELEASES / "gate_post.r1.json"
SECOND = second()


class Place(Command):
    """A folder with nothing in it, in which the command runs."""

    def first(self) -> None:
        """Releases the first revision."""
        SOURCE.write_text(FIRST, encoding="utf-8")
        assert self.run("release", SOURCE).status == 0


Refusal = Callable[[Place], None]
"""Makes the folder such that the release of gate.paramc is refused."""


def _changed(key: str, value: object) -> Refusal:
    """A release of which one thing is another, with a digest that fits."""

    def change(place: Place) -> None:
        place.first()
        whole = json.loads(KEPT.read_bytes())
        KEPT.write_bytes(signed({**whole, key: value}))
        SOURCE.write_text(SECOND, encoding="utf-8")

    return change


def _one_byte(place: Place) -> None:
    place.first()
    file = KEPT.read_text(encoding="utf-8")
    KEPT.write_text(file.replace("20 ms", "21 ms"), encoding="utf-8")
    SOURCE.write_text(SECOND, encoding="utf-8")


def _called_otherwise(place: Place) -> None:
    place.first()
    KEPT.rename(RELEASES / "gate_post.r3.json")
    SOURCE.write_text(SECOND, encoding="utf-8")


def _again(text: str) -> Refusal:
    def again(place: Place) -> None:
        place.first()
        SOURCE.write_text(text, encoding="utf-8")

    return again


def _behind(place: Place) -> None:
    SOURCE.write_text(FIRST.replace("revision 1", "revision 5"), encoding="utf-8")
    assert place.run("release", SOURCE).status == 0
    SOURCE.write_text(second(""), encoding="utf-8")


def _text(text: str) -> Refusal:
    return _put(text.encode())


def _put(data: bytes) -> Refusal:
    def put(_: Place) -> None:
        SOURCE.write_bytes(data)

    return put


def _bytes(data: bytes) -> Refusal:
    def put(place: Place) -> None:
        place.first()
        KEPT.write_bytes(data)
        SOURCE.write_text(SECOND, encoding="utf-8")

    return put


def _layout_of_a_trial(place: Place) -> None:
    SOURCE.write_text(FIRST, encoding="utf-8")
    assert place.run("build", SOURCE, "-o", "out").status == 0
    _changed("layout", json.loads(Path("out/gate_post.layout.json").read_bytes()))(place)


def _no_folder(_: Place) -> None:
    SOURCE.write_text(FIRST, encoding="utf-8")
    RELEASES.write_text("", encoding="utf-8")


def _too_large(_: Place) -> None:
    """Letters that take twelve bytes each in the release, in the source and in what it borrows."""
    letters = "# " + "\U00010348" * 900_000 + "\n"
    Path("house.paramc").write_text('flag tail "Tail" { default on }\n' + letters, encoding="utf-8")
    SOURCE.write_text(FIRST + 'borrow "house.paramc"\n' + letters, encoding="utf-8")


def _chain(*texts: str) -> Refusal:
    """Revisions from 1 on by what they have besides the first items; the last one is refused."""

    def chain(place: Place) -> None:
        for revision, more in enumerate(texts, 1):
            SOURCE.write_text(FIRST.replace("revision 1", f"revision {revision}") + more, encoding="utf-8")
            if revision < len(texts):
                done = place.run("release", SOURCE)
                assert done.status == 0, done.err

    return chain


TAIL = 'flag tail "Tail" { default on }\n'
TAILS = 'flag tails "Tails" { default on  was tail }\n'
SHAPE = 'selector shape "Shape" { way round "Round"  way edge "Edge"  default round }\n'
EARLY = SHAPE.replace("default round", "default round  since 2 formerly edge")
HARD = 'flag hard "Hard" {{ default off  since {} formerly by shape {{ round to off  edge to on {}}} }}\n'


def _ways(first: int, end: int, heir: str = "") -> str:
    ways = "  ".join(f'way w{at} "W"' for at in range(first, end))
    return f'selector shape "Shape" {{ way w0 {heir} "W"  {ways}  default w0 }}\n'


HISTORIES: dict[str, Refusal] = {
    "history-name-again": _chain(
        TAIL, "retired tail since 2\n", 'flag tail "Tail" { default on  since 3 formerly off }\n'
    ),
    "history-earlier-name": _chain(TAIL, TAILS, TAIL),
    "history-retired-too-early": _chain(TAIL, TAIL, "retired tail since 2\n"),
    "history-retired-too-late": _chain(TAIL, "retired tail since 2\n", "retired tail since 3\n"),
    "history-retired-twice": _chain(TAIL, "retired tail since 2\nretired tail since 2\n"),
    "history-decider-not-there": _chain("", EARLY, "retired shape since 3\n" + HARD.format(3, "")),
    "history-decider-not-retired": _chain(SHAPE, SHAPE + HARD.format(2, "")),
    "history-decider-way-unknown": _chain(
        SHAPE, "retired shape since 2\n" + HARD.format(2, "odd to on ")
    ),
    "history-way-twice": _chain(SHAPE, "retired shape since 2\n" + HARD.format(2, "edge to off ")),
    "history-no-way": _chain(
        SHAPE,
        'retired shape since 2\nflag hard "Hard" { default off  since 2 formerly by shape { } }\n',
    ),
    "history-since-twice": _chain(
        "", 'flag wet "Wet" { default on  since 2 formerly off  since 2 formerly on }\n'
    ),
    "history-ways-that-were-one": _chain(
        SHAPE,
        SHAPE.replace("way edge", "way sharp was edge"),
        SHAPE.replace("way edge", 'way sharp "Sharp"  way edge'),
    ),
    "history-too-many-ways": _chain(
        _ways(1, 200), _ways(200, 260, "was " + ", ".join(f"w{at}" for at in range(1, 200)))
    ),
    "history-code": _again(second("").replace("0x4750", "0x4751")),
}
"""What a file says of earlier revisions against what was released, where that takes more than one release, or
is no rule's first case."""

REFUSALS: dict[str, Refusal] = {
    **HISTORIES,
    "stop": _text(FIRST.replace("step 2 ms", "step 3 ms")),
    "open-mends": _text(FIRST.replace("inside low voltage", "")),
    "same-source": _again(FIRST),
    "other-source": _again(FIRST + "# better\n"),
    "other-values": _again(FIRST.replace("20 ms", "30 ms")),
    "other-layout": _again(FIRST.replace("step 2 ms", "step 1 ms")),
    "behind": _behind,
    "no-past": _text(SECOND),
    "no-past-retired": _text(second("retired bright since 2\n")),
    "too-large": _too_large,
    "no-source": lambda _: None,
    "no-utf-8": _put(b"\xff\n"),
    "no-folder": _no_folder,
    "changed": _one_byte,
    "called-otherwise": _called_otherwise,
    "no-json": _bytes(b"{"),
    "no-release": _bytes(b"{}"),
    "format": _changed("format", 2),
    "keys": _changed("more", 1),
    "layout": _changed("layout", 3),
    "trial": _layout_of_a_trial,
    "image": _changed("image", "00"),
    "sources": _changed("sources", [{"name": "../x", "text": ""}]),
}


@pytest.fixture
def place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Place:
    own = tmp_path / "own"
    own.mkdir()
    command = Place(tmp_path, capsys)
    monkeypatch.chdir(own)
    return command


@pytest.mark.parametrize("name", REFUSALS)
def test_a_refusal_is_said_whole_and_releases_nothing(name: str, place: Place, update: bool) -> None:
    REFUSALS[name](place)
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    done = place.run("release", SOURCE)
    assert (done.status, done.out) == (1, "")
    assert done.err.endswith("Nothing was released.\n")
    assert {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()} == before
    as_data = place.run("release", SOURCE, "--json")
    assert as_data.status == 1 and (as_data.data["troubles"] or as_data.data["diagnostics"])
    path = HERE / f"{name}.txt"
    if update:
        path.write_text(done.err, encoding="utf-8")
    assert path.exists(), f"{path.name} is missing; run with --update and read it"
    assert done.err == path.read_text(encoding="utf-8")


def test_every_refusal_in_the_code_has_its_case() -> None:
    """Each sentence of the modules that refuse stands in one of the answers, whatever is filled in."""
    said = _lines(HERE.iterdir())
    sentences = [one for module in (paramc.cli.release, paramc.cli.releases, paramc.release.read)
                 for one in _sentences(Path(module.__file__ or ""))]  # fmt: skip
    assert len(sentences) >= 14
    assert [one for one in sentences if not any(re.search(one, line) for line in said)] == []


def test_every_sentence_of_what_follows_a_release_has_its_case() -> None:
    """Those of rules, here or in bad/."""
    said = _lines([*HERE.iterdir(), *(HERE.parent / "bad").glob("*.txt")])
    modules = (followed, ways, controllers, history, again)
    told = [one for module in modules for one in _told(Path(module.__file__ or ""))]
    assert len(told) > 30
    missing = [one for one in told if not any(re.search(one, line) for line in said)]
    # Two items with one earlier name are told of before any release is asked; this guards plans without text.
    assert [one for one in missing if "were" not in one] == []


def test_no_answer_is_without_its_case() -> None:
    assert {path.stem for path in HERE.iterdir()} == set(REFUSALS)


def _lines(texts: Iterable[Path]) -> set[str]:
    return {line for path in texts for line in path.read_text(encoding="utf-8").splitlines()}


def _sentences(path: Path) -> Iterator[str]:
    """As patterns, the sentences that a module raises as Trouble, or returns where it refuses a file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        match node:
            case ast.Raise(exc=ast.Call(func=ast.Name(id="Trouble"), args=[text])):
                yield _pattern(text)
            case ast.Return(value=ast.JoinedStr() | ast.Constant(value=str()) as text):
                yield _pattern(text)


def _told(path: Path) -> Iterator[str]:
    """As patterns, the sentences of a module's diagnostics."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        match node:
            case ast.Assign(targets=[ast.Name(id="sentence")], value=ast.JoinedStr() as text):
                yield _pattern(text)
            case ast.Call(func=ast.Name(id="said_twice"), args=[ast.JoinedStr() as text, *_]):
                yield _pattern(text)


def _pattern(text: ast.expr) -> str:
    if isinstance(text, ast.Constant):
        return re.escape(str(text.value))
    assert isinstance(text, ast.JoinedStr)
    return "".join(
        re.escape(str(part.value)) if isinstance(part, ast.Constant) else ".+?" for part in text.values
    )
