"""The automaton against lark's own parser on the same grammar: trees, places and refusals of any text."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import lark
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Token as LarkToken
from lark import Tree as LarkTree

from paramc.syntax.automaton import Automaton, Child, Glued, Tree, Unread
from paramc.syntax.lark_tables import make_parser, tables_of_grammar

TOP = Path(__file__).resolve().parents[3]
FILES = sorted([*TOP.glob("tests/cases/**/*.paramc"), *TOP.glob("examples/**/*.paramc")])


@cache
def theirs() -> lark.Lark:
    return make_parser()


@cache
def ours() -> Automaton:
    return Automaton(tables_of_grammar())


def _free_keyword(error: lark.UnexpectedInput) -> bool:
    """A keyword is a name where only a name fits."""
    if not isinstance(error, lark.UnexpectedToken) or error.token.type == "NAME":
        return False
    if not re.fullmatch(r"[a-z_][a-z0-9_]*", error.token):
        return False
    try:
        error.interactive_parser.feed_token(LarkToken.new_borrow_pos("NAME", error.token, error.token))
    except lark.UnexpectedToken:
        return False
    return True


def by_lark(text: str) -> Any:
    try:
        return plain(theirs().parse(text, on_error=_free_keyword))
    except lark.UnexpectedToken as error:
        ended = error.token.type == "$END"
        return ended, None if ended else error.pos_in_stream, frozenset(error.accepts or error.expected)
    except lark.UnexpectedCharacters as error:
        return False, error.pos_in_stream, frozenset(error.allowed)


def by_ours(text: str) -> Any:
    try:
        return plain_of(ours().read(text))
    except Unread as error:
        return error.ended, None if error.ended else error.start, error.expected


def plain(tree: Any) -> Any:
    if isinstance(tree, LarkTree):
        place = (-1, -1) if tree.meta.empty else (tree.meta.start_pos, tree.meta.end_pos)
        return tree.data, *place, [plain(child) for child in tree.children]
    return tree if tree is None else (tree.type, tree.start_pos, tree.end_pos, str(tree))


def plain_of(tree: Child) -> Any:
    if isinstance(tree, Tree):
        return tree.data, tree.start, tree.end, [plain_of(child) for child in tree.children]
    return tree if tree is None else (tree.type, tree.start, tree.end, str(tree))


def agree(text: str) -> None:
    try:
        found = by_ours(text)
    except Glued as error:
        # Ours alone looks at what stands behind a number.
        assert re.match(r"[0-9][0-9A-Fa-fx_.]*[A-Za-z0-9]", text[error.start :])
        return
    assert found == by_lark(text)


def test_every_file_of_the_tests_and_examples() -> None:
    assert len(FILES) > 100
    for path in FILES:
        agree(path.read_bytes().decode("utf-8", "replace"))


PIECES = re.findall(
    r'"[^"\n]*"|[A-Za-z0-9_]+|\.\.|[^\w\s]|\s+',
    "\n".join(path.read_text(encoding="utf-8") for path in TOP.glob("examples/*.paramc")),
)
EXAMPLE = (TOP / "examples" / "teasel_pinch.paramc").read_text(encoding="utf-8")


@pytest.mark.slow
@settings(deadline=None, max_examples=150)
@given(st.data())
def test_an_example_with_a_piece_changed(data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(EXAMPLE)))
    cut = data.draw(st.integers(0, 12))
    piece = data.draw(st.sampled_from(PIECES) | st.text(max_size=3) | st.just(""))
    agree(EXAMPLE[:at] + piece + EXAMPLE[at + cut :])


@settings(deadline=None, max_examples=150)
@given(st.lists(st.sampled_from(PIECES), max_size=12))
def test_pieces_in_any_order(pieces: list[str]) -> None:
    agree(" ".join(pieces))


EXPRESSIONS = st.recursive(
    st.sampled_from(["1", "2.5", "depth", "-1", "--x", "sqrt(2)"]),
    lambda inner: st.tuples(inner, st.sampled_from(["+", "-", "*", "/", "^"]), inner).map(" ".join)
    | inner.map(lambda text: f"({text})"),
    max_leaves=8,
)


@settings(deadline=None, max_examples=100)
@given(EXPRESSIONS)
def test_expressions(text: str) -> None:
    agree(f'param a "A" {{ engine u8 is {text} }} promise "p" at noon {text} <= 1 Hz')


@pytest.mark.parametrize("text", ["", "  \n", "# only a comment", "product", 'borrow "a"\n'])
def test_hardly_any_text(text: str) -> None:
    agree(text)
