"""The grammar: strict, complete against the tree, and closed where the tables of the code say so."""

from __future__ import annotations

import re
import unicodedata

import lark
import pytest

from paramc.numbers.units import SPELLINGS
from paramc.syntax import build, nodes
from paramc.syntax.grammar_file import grammar_text
from paramc.syntax.lark_tables import make_parser
from paramc.text.source import Source, Span


@pytest.fixture(scope="module")
def strict() -> lark.Lark:
    """Strict mode refuses two terminals that could match the same text; interegular decides that."""
    return make_parser(strict=True)


def test_the_grammar_is_strict(strict: lark.Lark) -> None:
    assert strict.options.strict


def test_every_rule_has_a_node_or_is_a_choice_of_words(strict: lark.Lark) -> None:
    words = set(re.findall(r"^!(\w+):", grammar_text(), re.MULTILINE))
    shaping = {"start", "sign", "quantity", "integer", "fraction", "product_of", "exponent"}
    for definition in strict.rules:
        origin = str(definition.origin.name)
        inlined = origin.startswith("_") or definition.options.expand1
        if inlined or origin in words | shaping:
            continue
        assert origin in build._CLASSES or origin in build._SPECIAL, origin


def test_every_node_class_is_reached_from_the_grammar(strict: lark.Lark) -> None:
    origins = {str(definition.origin.name) for definition in strict.rules}
    built_by_hand = {"node", "word", "module", "ratio", "number", "negated", "factors"}
    for rule in build._CLASSES:
        assert rule in origins | built_by_hand, rule


def test_units_are_those_of_the_numbers(strict: lark.Lark) -> None:
    pattern = next(term for term in strict.terminals if term.name == "UNIT").pattern.to_regexp()
    for spelling in SPELLINGS:
        if spelling not in (":1", ""):
            # The ohm sign itself is not in normal form C; a file holds the Greek letter.
            assert re.fullmatch(pattern, unicodedata.normalize("NFC", spelling)), spelling
    listed = re.findall(r"[A-Za-z\u00b5\u03bc\u03a9]+", pattern.replace("A-Za-z0-9_", "").replace("?!", ""))
    for spelling in {*listed, "%"}:
        assert spelling in SPELLINGS, spelling


def test_a_tree_is_frozen() -> None:
    source = Source("x", "abc")
    name = nodes.Name(Span(source, 0, 1), "a")
    with pytest.raises(AttributeError):
        name.text = "b"  # type: ignore[misc]
    with pytest.raises(AttributeError):
        name.more = 1  # type: ignore[attr-defined]
    with pytest.raises(AttributeError):
        del name.text
    with pytest.raises(TypeError):
        nodes.Name(Span(source, 0, 1))  # type: ignore[call-arg]
    assert name == nodes.Name(Span(source, 0, 1), "a")
    assert name != nodes.Control(Span(source, 0, 1), "a")
    assert len({name, nodes.Name(Span(source, 0, 1), "a")}) == 1
    assert repr(name) == "Name(text='a')"
