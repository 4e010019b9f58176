"""What is borrowed stands where it is borrowed, and nothing leads out of the folder or round in a circle."""

from __future__ import annotations

import pytest

from paramc.syntax.borrow import LONGEST_PATH, MOST_FILES, Joined, Reader, assembled
from paramc.syntax.parse import LONGEST_TEXT
from paramc.text.source import Source


def reader(**files: str) -> Reader:
    """Gives files by their paths without the ending; a double underscore is a slash."""
    texts = {f"{name.replace('__', '/')}.paramc": text for name, text in files.items()}
    return lambda path: Source(path, texts[path]) if path in texts else "is not there"


def joined(text: str, **files: str) -> Joined:
    answer = assembled(Source("pedal.paramc", text), reader(**files))
    assert answer.value is not None, [found.sentence for found in answer.diagnostics]
    return answer.value


def refused(text: str, **files: str) -> list[tuple[str, str]]:
    answer = assembled(Source("pedal.paramc", text), reader(**files))
    assert answer.value is None
    return [(found.rule.name, found.sentence) for found in answer.diagnostics]


ONE, TWO, THREE = (f'flag {name} "{name}" {{ default off }}\n' for name in ("one", "two", "three"))


def test_blocks_stand_in_the_place_of_the_borrow() -> None:
    made = joined(ONE + 'borrow "house.paramc"\n' + THREE, house=TWO)
    assert [block.span.text.split()[1] for block in made.module.blocks] == ["one", "two", "three"]
    assert [one.path for one in made.borrowed] == ["house.paramc"]


def test_a_path_is_beside_the_file_that_it_stands_in() -> None:
    made = joined('borrow "shared/a.paramc"\n', shared__a=ONE + 'borrow "b.paramc"\n', shared__b=TWO)
    assert [one.path for one in made.borrowed] == ["shared/a.paramc", "shared/b.paramc"]
    assert [block.span.source.name for block in made.module.blocks] == ["shared/a.paramc", "shared/b.paramc"]


@pytest.mark.parametrize("path", [
    "../house.paramc", "/house.paramc", "a/../house.paramc", "./house.paramc", "house", "house.txt", "",
    ".house.paramc", "a//house.paramc", "a\\\\house.paramc", "C:house.paramc", "h\u00e4user.paramc",
    "x" * LONGEST_PATH + ".paramc", "a/" * 9 + "b.paramc", "-o.paramc",
])
def test_no_path_leads_elsewhere(path: str) -> None:
    def read(_: str) -> Source | str:
        raise AssertionError("nothing is read")

    answer = assembled(Source("pedal.paramc", f'borrow "{path}"\n'), read)
    assert [found.rule.name for found in answer.diagnostics] == ["borrow-path"]


@pytest.mark.parametrize(("files", "why"), [
    ({}, "The file house.paramc is not there."),
    ({"house": 'borrow "pedal.paramc"\n'}, "The file pedal.paramc borrows itself."),
    (
        {"house": 'borrow "a.paramc"\n', "a": 'borrow "house.paramc"\n'},
        "The file house.paramc borrows itself.",
    ),
    ({"house": 'borrow "a.paramc"\nborrow "a.paramc"\n', "a": ONE}, "The file a.paramc is borrowed twice."),
])
def test_a_file_is_borrowed_once_and_in_no_circle(files: dict[str, str], why: str) -> None:
    assert refused('borrow "house.paramc"\n', **files) == [("borrow-file", why)]


def test_no_more_is_borrowed_than_can_be_held() -> None:
    many = {f"f{at}": "" for at in range(MOST_FILES + 1)}
    text = "".join(f'borrow "{name}.paramc"\n' for name in many)
    assert [rule for rule, _ in refused(text, **many)] == ["borrow-file"]
    most = dict(list(many.items())[:-1])
    assert len(joined("".join(f'borrow "{name}.paramc"\n' for name in most), **most).borrowed) == MOST_FILES
    long = "#" * (LONGEST_TEXT // 2) + "\n"
    assert [rule for rule, _ in refused('borrow "a.paramc"\nborrow "b.paramc"\n', a=long, b=long)] == [
        "borrow-file"
    ]


def test_what_belongs_to_one_product_is_not_lent() -> None:
    lent = 'chip { size 256 bytes }\npreset 1 "One" { }\n'
    assert [rule for rule, _ in refused('borrow "house.paramc"\n', house=lent)] == ["borrow-block"] * 2


def test_a_slip_of_syntax_is_told_of_each_file() -> None:
    found = refused('borrow "a.paramc"\nborrow "b.paramc"\n', a="flag {", b="flag {")
    assert [rule for rule, _ in found] == ["syntax", "syntax"]
