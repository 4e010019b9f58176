"""Source -> Module. The only file that runs the parser; one mistake a text."""

from __future__ import annotations

import functools
import re
import unicodedata
from collections.abc import Iterator
from typing import Any

import lark
from lark import Token

from paramc.syntax import nodes
from paramc.syntax.build import Refused, build
from paramc.syntax.grammar_file import grammar_text
from paramc.syntax.mistakes import unexpected
from paramc.syntax.parser_tables import kept
from paramc.syntax.rules import FILE_FORM, NUMBER_FORM
from paramc.text.diagnostic import Checked, Diagnostic
from paramc.text.source import Source, Span

LONGEST_TEXT = 1 << 20
MOST_BLOCKS = 10_000
DEEPEST = 50
LONGEST_STRETCH = 1 << 16

_STRETCH = f"There are more than {LONGEST_STRETCH} characters without a brace before this."
_NAME = re.compile(r"[a-z_][a-z0-9_]*")
_NESTING = re.compile(r'"(?:\\[^\n]|[^"\\\n])*"|#[^\n]*|[{}()]')


class _Glued(Exception):
    """A number with letters right behind it that are no unit: 1e3, 5mm."""

    def __init__(self, number: Token, word: Token) -> None:
        super().__init__()
        self.number = number
        self.word = word


class _WholeWords:
    """Between lexer and parser.

    always_accept makes the lexer know NAME in every state, so that a keyword is a whole word
    there and a letter more makes it another word.
    """

    always_accept = ("NAME",)

    def process(self, stream: Iterator[Token]) -> Iterator[Token]:
        before: Token | None = None
        for token in stream:
            if (
                before is not None
                and before.type in ("NUMBER", "HEXADECIMAL")
                and before.end_pos == token.start_pos
                and token.type != "UNIT"
                and token[0].isalnum()
            ):
                raise _Glued(before, token)
            before = token
            yield token


def _free_keyword(error: lark.UnexpectedInput) -> bool:
    """Reads a keyword as a name where only a name fits; whether it did.

    The lexer chooses among what may follow in any context of a state, so a keyword of another
    block can come where this one wants a name.
    """
    if not isinstance(error, lark.UnexpectedToken) or error.token.type == "NAME":
        return False
    if not _NAME.fullmatch(error.token):
        return False
    try:
        error.interactive_parser.feed_token(Token.new_borrow_pos("NAME", error.token, error.token))
    except lark.UnexpectedToken:
        return False
    return True


def make_parser(**options: Any) -> lark.Lark:
    """The parser of grammar/paramc.lark; options go to lark (a test asks for strict=True)."""
    return lark.Lark(
        grammar_text(),
        parser="lalr",
        lexer="contextual",
        postlex=_WholeWords(),  # lark takes anything with these two names
        propagate_positions=True,
        maybe_placeholders=True,
        **options,
    )


@functools.cache
def _parser() -> lark.Lark:
    return kept(grammar_text(), make_parser, _WholeWords())


def parse(source: Source) -> Checked[nodes.Module]:
    """The tree of a text, or one diagnostic.

    Bounds: 1 MiB of text, 10 000 blocks, nesting of 50. Never raises on any text.
    """
    found = _form_of(source)
    if found is not None:
        return Checked(None, (found,))
    try:
        tree = _parser().parse(source.text, on_error=_free_keyword)
    except lark.UnexpectedInput as error:
        return Checked(None, (unexpected(error, source),))
    except _Glued as error:
        span = Span(source, error.number.start_pos or 0, error.word.end_pos or 0)
        sentence = f"{span.text} is neither a number nor a number with a unit."
        return Checked(None, (Diagnostic(NUMBER_FORM, sentence, span),))
    if len(tree.children) > MOST_BLOCKS:
        sentence = f"This file has {len(tree.children)} blocks; {MOST_BLOCKS} are the most."
        return Checked(None, (Diagnostic(FILE_FORM, sentence),))
    try:
        return Checked(build(tree, source))
    except Refused as refused:
        return Checked(None, (refused.diagnostic,))


def _form_of(source: Source) -> Diagnostic | None:
    text = source.text
    if len(text) > LONGEST_TEXT:
        return Diagnostic(FILE_FORM, f"This file is longer than {LONGEST_TEXT} characters.")
    bound = _passes_a_bound(text)
    if bound is not None:
        offset, sentence = bound
        return Diagnostic(FILE_FORM, sentence, Span(source, offset, offset + 1))
    if unicodedata.is_normalized("NFC", text):
        return None
    for line in range(1, source.lines + 1):
        content = source.line_text(line)
        if not unicodedata.is_normalized("NFC", content):
            start = source.line_start(line)
            return Diagnostic(
                FILE_FORM,
                "A letter and its accent are written as two characters on this line; normal form C has"
                " one for both.",
                Span(source, start, start + len(content)),
                try_="save the file in Unicode normal form C",
            )
    return Diagnostic(FILE_FORM, "This file is not in Unicode normal form C.")


def _passes_a_bound(text: str) -> tuple[int, str] | None:
    """Where the nesting, or the text between two braces, passes its bound; seen before parsing.

    Lark joins a list again for every further member, so time grows with the square of the longest
    list; and what is nested within the bound may be walked by functions that call themselves.
    """
    depth = 0
    end = 0
    stretch = 0
    for found in _NESTING.finditer(text):
        stretch += found.start() - end
        end = found.end()
        mark = found.group()
        if stretch > LONGEST_STRETCH:
            return found.start(), _STRETCH
        if mark in "{}":
            stretch = 0
        if mark in "{(":
            depth += 1
            if depth > DEEPEST:
                return found.start(), f"Braces and parentheses are nested more than {DEEPEST} deep here."
        elif mark in "})":
            depth -= 1
    if stretch + len(text) - end > LONGEST_STRETCH:
        return len(text) - 1, _STRETCH
    return None
