"""Product text in C: strings give their bytes back, comments stay comments, lines stay lines."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paramc.emit.escape import WIDTH, c_comment, c_string, comment_lines

TRAPS = st.lists(
    st.sampled_from(
        ["*/", "/*", "*", "/", "\\", "\n", "??/", "?", '"', "%s", "\t", "ü", "鼓", "\u202e", "a", " ", "0"]
    ),
    max_size=12,
).map("".join)
TEXTS = st.text(max_size=40) | TRAPS


def bytes_of(literal: str) -> bytes:
    """A string literal as C reads it (C11 6.4.4.4, 6.4.5), without trigraphs: there are none to replace."""
    assert literal[0] == literal[-1] == '"'
    found = bytearray()
    for match in re.finditer(r'\\([0-7]{1,3})|\\(["\\?])|([^"\\])', literal[1:-1]):
        octal, marked, plain = match.groups()
        found.append(int(octal, 8) if octal else ord(marked or plain))
    assert (
        "".join(match[0] for match in re.finditer(r'\\[0-7]{1,3}|\\["\\?]|[^"\\]', literal[1:-1]))
        == literal[1:-1]
    )
    return bytes(found)


@pytest.mark.parametrize(
    ("text", "literal"),
    [
        ("Time", '"Time"'),
        ('say "when"', '"say \\"when\\""'),
        ("back\\slash", '"back\\\\slash"'),
        ("??/", '"\\?\\?/"'),
        ("tab\tand\nline", '"tab\\011and\\012line"'),
        ("µ", '"\\302\\265"'),
        # An escape of less digits would take the 7 with it.
        ("\0017", '"\\0017"'),
        ("100 %s", '"100 %s"'),
    ],
)
def test_strings(text: str, literal: str) -> None:
    assert c_string(text) == literal


@given(TEXTS)
def test_a_string_gives_its_bytes_back(text: str) -> None:
    literal = c_string(text)
    assert literal.isascii() and literal.isprintable()
    assert "??" not in literal
    assert bytes_of(literal) == text.encode("utf-8", "replace")


@pytest.mark.parametrize(
    ("text", "comment"),
    [
        ("Loop gain", "Loop gain"),
        ("over */ int x; /*", "over * / int x; / *"),
        ("*/*", "* / *"),
        ("??/", "? ?/"),
        ("ends in \\", "ends in <U+005C>"),
        ("two\nlines", "two lines"),
        ("Höhe 鼓", "Höhe 鼓"),
        ("\u202eturned", "<U+202E>turned"),
        ("  many   blanks ", "many blanks"),
    ],
)
def test_comments(text: str, comment: str) -> None:
    assert c_comment(text) == comment


@given(TEXTS)
def test_a_comment_stays_one(text: str) -> None:
    comment = c_comment(text)
    for trap in ("*/", "/*", "??", "\\", "\n", "\r", "\u2028", "\u202e"):
        assert trap not in comment
    # Between its marks with nothing but blanks, as templates place it.
    assert f"/* {comment} */".count("*/") == 1
    assert c_comment(comment) == comment


@given(TEXTS.map(lambda text: text * 5))
def test_lines_of_a_comment_say_all_of_it(text: str) -> None:
    lines = comment_lines(text)
    assert " ".join(lines).split(" ") == c_comment(text).split(" ") or not lines
    assert all(len(line) <= WIDTH or " " not in line for line in lines)
    assert all(line.strip(" ") == line and line for line in lines)
