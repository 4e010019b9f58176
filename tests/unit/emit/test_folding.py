"""Comments of the emitted C: no line runs beyond the limit, and nothing but blanks and line ends changes."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paramc.emit.c import emit_c
from paramc.emit.folding import LIMIT, folded
from tests.stories import story


def bare(text: str) -> str:
    """C without the blanks, line ends and margins of its comments."""
    return re.sub(r"\s+", " ", re.sub(r"\n \*(?!/) *", " ", text))


LONG = " ".join(["word"] * 30)


@pytest.mark.parametrize("text", [
    f"/* {LONG} */\nint a;",
    f"/* {LONG}\n * {LONG}.\n * {LONG} */\nint a;",
    f"/*\n * - {LONG};\n * - {LONG}.\n */",
    f"int a; /* {LONG} */\n/* {LONG}. */",
    f"    /* {LONG} */\n    a = 1;",
    f"/* short */ int a; {LONG}\n/* {LONG} */",
])
def test_long_lines_of_comments_are_folded(text: str) -> None:
    after = folded(text)
    assert bare(after) == bare(text)
    inside = [line for line in after.split("\n") if line.lstrip().startswith(("/*", " *", "*"))]
    assert inside and all(len(line) <= LIMIT or "*/ int a;" in line for line in inside)


def test_what_does_not_fit_begins_the_next_line_of_its_sentence() -> None:
    text = f"/* {LONG}\n * goes on. */"
    assert folded(text).endswith("\n * word word word word word word word word word goes on. */")
    listed = f"/*\n * - {LONG}\n * - next */"
    assert folded(listed).endswith("\n *   word word word word word word word word word\n * - next */")


def test_code_and_what_stands_behind_it_stay() -> None:
    code = f'#define A "/* {LONG}" /* {LONG} */\nint b = {" + ".join("1" * 60)};'
    assert folded(code) == code


def test_a_word_that_is_too_long_stands_alone() -> None:
    word = "x" * 200
    assert folded(f"/* a {word} b */") == f"/* a\n * {word}\n * b */"
    assert folded(f"/* {word} */") == f"/* {word} */"


@given(st.lists(st.text("ab.;- ", min_size=1, max_size=160), min_size=1, max_size=6))
def test_nothing_is_lost(lines: list[str]) -> None:
    text = "/* begins" + "".join(f"\n * {line}" for line in lines) + "\n * ends */\nint a;"
    after = folded(text)
    assert bare(after) == bare(text)
    assert folded(after) == after
    assert all(len(line) <= LIMIT or len(line.split()) < 4 for line in after.split("\n"))


@pytest.mark.parametrize("name", ["teasel_pinch", "long_causeway", "hob_and_kiln"])
@pytest.mark.parametrize("prefix", ["ab", "abcdefgh"])
def test_the_header_of_a_product_with_any_prefix(name: str, prefix: str) -> None:
    layout = story(name)[0].layout
    made = emit_c(replace(layout, product=replace(layout.product, prefix=prefix)))
    for artifact in made:
        comments = re.findall(r"^(?:/\*| \*).*", artifact.data.decode(), re.MULTILINE)
        assert comments and max(map(len, comments)) <= LIMIT
    if prefix == "ab":  # as long as those of the examples: then nothing behind code is too long either
        assert max(map(len, made[0].data.decode().splitlines())) <= LIMIT
    # No figure of a comment has the suffix that it has as a constant.
    header = made[0].data.decode()
    assert re.findall(r"^(?:/\*| \*).*\b\d+u\b.*", header, re.MULTILINE) == []
