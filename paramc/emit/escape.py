"""The two ways of a product's text into C: string literals and comments. No text takes another."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable

_PLAIN = frozenset(chr(code) for code in range(0x20, 0x7F)) - frozenset('"\\?')
# Not by Unicode's categories: these grow from one Python to the next, and outputs have to stay the same.
_NAMED = frozenset(
    map(chr, [*range(0x20), *range(0x7F, 0xA0), 0x5C, 0xAD, 0x61C, *range(0x200B, 0x2010),
              *range(0x202A, 0x202F), *range(0x2060, 0x2070), 0xFEFF])
)  # fmt: skip
_BLANKS = frozenset("\t\n\v\f\r \x85\u2028\u2029")
_SHORT = {'"': '\\"', "\\": "\\\\", "?": "\\?"}

WIDTH = 104
"""Characters of a comment's text in a line."""


def c_string(text: str) -> str:
    """A string literal, quotes included, of the text's UTF-8 bytes; valid in C and C++.

    Bytes outside ASCII and control characters become octal escapes of three digits, which end by
    themselves whatever follows. A question mark is escaped, so that no two make a trigraph.
    """
    return f'"{"".join(_in_string(char) for char in text)}"'


def _in_string(char: str) -> str:
    if char in _PLAIN:
        return char
    return _SHORT.get(char) or "".join(f"\\{byte:03o}" for byte in char.encode("utf-8", "replace"))


def c_comment(text: str) -> str:
    """The text on one line, harmless between the marks of a comment.

    Letters of any script stay as they are. Line ends and other blanks become one blank; what could
    end a comment, begin another, join lines or turn the reading direction is pulled apart or named.
    """
    named = "".join(_in_comment(char) for char in text)
    line = re.sub(" +", " ", named).strip(" ")
    # A trigraph for a backslash joins lines as a backslash does.
    return re.sub(r"\*(?=/)|/(?=\*)|\?(?=\?)", r"\g<0> ", line)


def _in_comment(char: str) -> str:
    if char in _BLANKS:
        return " "
    return f"<U+{ord(char):04X}>" if char in _NAMED else char


def comment_lines(text: str, indent: str = "") -> tuple[str, ...]:
    """A text as the lines of a comment, each at most WIDTH characters unless one word is longer.

    indent stands before every line after the first.
    """
    return tuple(
        textwrap.wrap(
            c_comment(text), WIDTH, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
        )
    )


def paragraph(texts: Iterable[str]) -> tuple[str, ...]:
    """Several texts, each beginning a line of its own."""
    return tuple(line for text in texts for line in comment_lines(text, "  "))
