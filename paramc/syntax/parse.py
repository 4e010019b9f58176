"""Source -> Module. One mistake a text."""

from __future__ import annotations

import functools
import re
import unicodedata

from paramc.syntax import nodes
from paramc.syntax.automaton import Automaton, Glued, Tables, Unread
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
_NESTING = re.compile(r'"(?:\\[^\n]|[^"\\\n])*"|#[^\n]*|[{}()]')


@functools.cache
def _automaton() -> Automaton:
    return Automaton(kept(grammar_text(), _tables))


def _tables() -> Tables:
    # Here, because the tables are kept and lark is slow to import.
    from paramc.syntax.lark_tables import tables_of_grammar

    return tables_of_grammar()


def parse(source: Source) -> Checked[nodes.Module]:
    """The tree of a text, or one diagnostic.

    Bounds: 1 MiB of text, 10 000 blocks, nesting of 50. Never raises on any text.
    """
    found = _form_of(source)
    if found is not None:
        return Checked(None, (found,))
    try:
        tree = _automaton().read(source.text)
    except Unread as error:
        return Checked(None, (unexpected(error, source),))
    except Glued as error:
        span = Span(source, error.start, error.end)
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

    What is nested within the bound may be walked by functions that call themselves.
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
