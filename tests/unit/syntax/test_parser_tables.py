"""Kept parser tables give the same parser, and nothing about them can break a run."""

from __future__ import annotations

import marshal
import sys
from pathlib import Path

import lark
import pytest

from paramc.syntax import parser_tables
from paramc.syntax.grammar_file import grammar_text
from paramc.syntax.parse import _WholeWords, make_parser

TEXT = 'param order "Order" { range 0 ms .. 3 ms  step 1 ms }'


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "deep" / "grammar.tables"
    monkeypatch.setattr(parser_tables, "_path", lambda grammar: path)
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    return path


def kept() -> lark.Lark:
    return parser_tables.kept(grammar_text(), make_parser, _WholeWords())


def test_second_time_nothing_is_made(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = kept().parse(TEXT)
    assert path.exists()

    def never() -> lark.Lark:
        raise AssertionError("tables were there")

    second = parser_tables.kept(grammar_text(), never, _WholeWords()).parse(TEXT)
    assert first == second
    assert first.children[0].meta.end_pos == second.children[0].meta.end_pos == len(TEXT)


DAMAGES = {"empty": b"", "words": b"nonsense", "zeros": bytes(100), "cut": "cut"}


@pytest.mark.slow
@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_damaged_tables_are_made_anew(path: Path, damage: bytes | str) -> None:
    kept()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] if isinstance(damage, str) else damage)
    kept().parse(TEXT)
    assert marshal.loads(path.read_bytes())
    assert len(path.read_bytes()) == len(whole)


def test_a_folder_that_cannot_be_written_is_left_alone(path: Path) -> None:
    path.parent.parent.joinpath("deep").write_bytes(b"a file where the folder would be")
    kept().parse(TEXT)


def test_no_byte_code_no_tables(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    kept().parse(TEXT)
    assert not path.exists()


def test_another_grammar_has_other_tables() -> None:
    assert parser_tables._path("a") != parser_tables._path("b")
