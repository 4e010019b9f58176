"""Kept parser tables give the same parser, and nothing about them can break a run."""

from __future__ import annotations

import marshal
import sys
from pathlib import Path

import pytest

from paramc.syntax import parser_tables
from paramc.syntax.automaton import Automaton, Tables
from paramc.syntax.grammar_file import grammar_text
from paramc.syntax.lark_tables import tables_of_grammar

TEXT = 'param order "Order" { range 0 ms .. 3 ms  step 1 ms }'


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "deep" / "grammar.tables"
    monkeypatch.setattr(parser_tables, "_path", lambda grammar: path)
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    return path


def kept() -> Tables:
    return parser_tables.kept(grammar_text(), tables_of_grammar)


def read(tables: Tables) -> None:
    tree = Automaton(tables).read(TEXT)
    assert (tree.data, tree.start, tree.end, len(tree.children)) == ("start", 0, len(TEXT), 1)


def test_second_time_nothing_is_made(path: Path) -> None:
    first = kept()
    assert path.exists()

    def never() -> Tables:
        raise AssertionError("tables were there")

    second = parser_tables.kept(grammar_text(), never)
    assert first == second
    read(second)


DAMAGES = {"empty": b"", "words": b"nonsense", "zeros": bytes(100), "cut": "cut"}


@pytest.mark.slow
@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_damaged_tables_are_made_anew(path: Path, damage: bytes | str) -> None:
    kept()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] if isinstance(damage, str) else damage)
    read(kept())
    assert marshal.loads(path.read_bytes())
    assert len(path.read_bytes()) == len(whole)


def test_a_folder_that_cannot_be_written_is_left_alone(path: Path) -> None:
    path.parent.parent.joinpath("deep").write_bytes(b"a file where the folder would be")
    read(kept())


def test_no_byte_code_no_tables(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    read(kept())
    assert not path.exists()


def test_another_grammar_has_other_tables() -> None:
    assert parser_tables._path("a") != parser_tables._path("b")
