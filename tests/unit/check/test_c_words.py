"""Keywords of C and C++, asked of compilers."""

from __future__ import annotations

import subprocess

import pytest

from paramc.check.c_names import TAKEN

_LANGUAGES = (("gcc", "c11"), ("gcc", "gnu2x"), ("g++", "c++20"))
_NEWER = {"typeof_unqual"}
"""Of ISO/IEC 9899:2024, which compilers of 2022 do not know yet."""

_KEYWORDS = sorted(word for word, reason in TAKEN.items() if reason.startswith("a keyword"))


def _refused(compiler: str, standard: str, text: str) -> bool:
    """Whether a compiler finds a mistake in a text."""
    language = "c" if compiler == "gcc" else "c++"
    command = [compiler, f"-std={standard}", "-x", language, "-fsyntax-only", "-w", "-"]
    return subprocess.run(command, input=text.encode(), capture_output=True, check=False).returncode != 0


def _member(word: str) -> str:
    return f"struct codes {{ unsigned {word}; }}; int get(struct codes *c) {{ return c->{word}; }}\n"


@pytest.mark.needs("gcc")
def test_a_structure_with_a_usual_name_is_taken_by_all() -> None:
    for compiler, standard in _LANGUAGES:
        assert not _refused(compiler, standard, _member("level"))


@pytest.mark.slow
@pytest.mark.needs("gcc")
def test_every_keyword_is_refused_by_one_of_them() -> None:
    taken = [
        word for word in _KEYWORDS
        if not any(_refused(compiler, standard, _member(word)) for compiler, standard in _LANGUAGES)
    ]
    assert set(taken) <= _NEWER


@pytest.mark.needs("gcc")
def test_keywords_that_every_one_of_them_has() -> None:
    for word in ("int", "switch", "default", "register", "volatile"):
        assert all(_refused(compiler, standard, _member(word)) for compiler, standard in _LANGUAGES)
