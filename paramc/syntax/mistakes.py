"""What the parser could not read, said in a sentence with the nearest thing that would work."""

from __future__ import annotations

import re

from paramc.syntax.automaton import Unread
from paramc.syntax.rules import CLOCK_FORM, DECIMAL_COMMA, NUMBER_FORM, SYNTAX, TEXT_FORM
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Source, Span

# How the terminals that are no keywords are called in a sentence.
_KINDS = {
    "NAME": "a name",
    "CONTROL": "a control such as TIME",
    "TEXT": "a text in double quotes",
    "NUMBER": "a number",
    "HEXADECIMAL": "a hexadecimal number",
    "UNIT": "a unit",
    "RATIO": "a ratio such as 4:1",
    "CLOCK": "a clock position such as 2:30",
    "RULE": "the name of a rule",
    "FORMAT": "a format such as u16 or q15",
    "FUNCTION": "a function such as sqrt",
    "ALGORITHM": "a checksum name such as crc-16/ibm-3740",
    "_BROWN_OUT": "brown-out",
    "$END": "the end of the file",
}
_WORD = re.compile(r"[^\W\d]\w*(-\w+)*")
_ITEMS_SHOWN = 8


def unexpected(error: Unread, source: Source) -> Diagnostic:
    """The diagnostic for the parser's exception."""
    text = source.text
    if error.ended:
        return _at_end(error, source)
    start = error.start
    expected = _expected(error)
    before = text[:start].rstrip()
    after = text[start:]

    if after.startswith(","):
        number = re.search(r"[0-9]+$", text[:start])
        rest = re.match(r",([0-9]+)", after)
        if number and rest:
            span = Span(source, number.start(), start + rest.end())
            return Diagnostic(
                DECIMAL_COMMA,
                f"{span.text} has a decimal comma.",
                span,
                try_=span.text.replace(",", "."),
            )
    if re.match(r"\.[0-9]", after):
        rest = re.match(r"\.[0-9]+", after)
        assert rest
        glued = re.search(r"[0-9.]*$", text[:start])
        assert glued
        span = Span(source, glued.start(), start + rest.end())
        try_ = "0" + span.text if span.start == start else ""
        return Diagnostic(NUMBER_FORM, f"{span.text} is not how a number is written here.", span, try_=try_)
    if after.startswith(".") and not after.startswith("..") and re.search(r"[0-9]$", text[:start]):
        digits = re.search(r"[0-9_]+$", text[:start])
        assert digits
        span = Span(source, digits.start(), start + 1)
        return Diagnostic(
            NUMBER_FORM,
            f"{span.text} has a point with no digit behind it.",
            span,
            try_=span.text[:-1],
        )
    if after.startswith('"'):
        line_end = text.find("\n", start)
        line_end = len(text) if line_end < 0 else line_end
        if not re.match(r'"(\\[^\n]|[^"\\\n])*"', after):
            return Diagnostic(
                TEXT_FORM, "This text has no closing quote on its line.", Span(source, start, line_end)
            )
    if re.match(r"[0-9]{1,2}:[0-9]", after) and "CLOCK" in expected:
        rest = re.match(r"[0-9:]+", after)
        assert rest
        span = Span(source, start, start + rest.end())
        return Diagnostic(CLOCK_FORM, f"{span.text} is not a clock position.", span, try_="2:30")

    word = _WORD.match(after)
    glued = re.search(r"[0-9][0-9A-Za-z_.]*$", text[:start])
    if word and glued:
        span = Span(source, glued.start(), start + word.end())
        return Diagnostic(
            NUMBER_FORM,
            f"{span.text} is not how a number is written here.",
            span,
            because=("Hexadecimal numbers begin with 0x and have the digits 0 to 9 and A to F.",),
        )
    if word:
        span = Span(source, start, start + word.end())
        return _word(span, expected, before)
    if not after:
        return _at_end(error, source)
    span = Span(source, start, start + 1)
    shown = after[0] if after[0].isprintable() else f"the character U+{ord(after[0]):04X}"
    return Diagnostic(SYNTAX, f"{shown} has no use here.", span, because=_because(expected))


def _word(span: Span, expected: frozenset[str], before: str) -> Diagnostic:
    word = span.text
    keywords = sorted(term for term in expected if term.islower())
    import difflib  # slow to import, and most texts are right

    near = difflib.get_close_matches(word.lower(), keywords, 1)
    because = _because(expected)
    if word.lower() != word and word.upper() != word:
        note = "Names of items are lower case, controls are upper case."
        near_case = near or ([word.lower()] if "NAME" in expected else [])
        return Diagnostic(
            SYNTAX,
            f"{word} mixes upper and lower case.",
            span,
            because=(note,),
            try_=near_case[0] if near_case else "",
        )
    if "CONTROL" in expected and word.islower() and "NAME" not in expected and not near:
        return Diagnostic(
            SYNTAX, f"A control belongs here, and {word} is lower case.", span, because=because,
            try_=word.upper(),
        )
    if "NAME" in expected and word.isupper():
        return Diagnostic(
            SYNTAX, f"A name belongs here, and {word} is upper case as controls are.", span,
            because=because, try_=word.lower(),
        )
    return Diagnostic(SYNTAX, f"{word} has no use here.", span, because=because, try_=near[0] if near else "")


def _at_end(error: Unread, source: Source) -> Diagnostic:
    end = len(source.text.rstrip())
    opened = _last_open_brace(source.text)
    span = Span(source, opened, opened + 1) if opened is not None else Span(source, max(0, end - 1), end)
    sentence = (
        "The file ends before this brace is closed."
        if opened is not None
        else "The file ends in the middle of a statement."
    )
    return Diagnostic(SYNTAX, sentence, span, because=_because(_expected(error)))


def _last_open_brace(text: str) -> int | None:
    """The innermost brace that is never closed, outside texts and comments."""
    stack: list[int] = []
    for found in re.finditer(r'"(?:\\[^\n]|[^"\\\n])*"|#[^\n]*|[{}]', text):
        if found.group() == "{":
            stack.append(found.start())
        elif found.group() == "}" and stack:
            stack.pop()
    return stack[-1] if stack else None


def _expected(error: Unread) -> frozenset[str]:
    """What could have stood there: keywords as written, other terminals by name."""
    told = (name for name in error.expected if name not in ("WHITE", "COMMENT"))
    return frozenset(name if name in _KINDS else name.lower() for name in told)


_MARKS = {
    "lbrace": "{", "rbrace": "}", "lpar": "(", "rpar": ")", "comma": ",", "equal": "=", "plus": "+",
    "minus": "-", "times": "*", "slash": "/", "circumflex": "^",
}  # fmt: skip


def _because(expected: frozenset[str]) -> tuple[str, ...]:
    if not expected:
        return ()
    words = sorted(_MARKS.get(term, _KINDS.get(term, term)) for term in expected if not term.startswith("__"))
    shown = ", ".join(words[:_ITEMS_SHOWN])
    if len(words) > _ITEMS_SHOWN:
        shown += " and others"
    return (f"What can stand here: {shown}.",)
