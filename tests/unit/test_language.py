"""The reference of the language says what the grammar, the checks and their tables do."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from paramc.catalogue import RULES
from paramc.check import (
    c_names,
    chip,
    facts,
    gestures,
    holds,
    items,
    modes,
    names,
    panel,
    scales,
    tapers,
)
from paramc.check.statements import word_of
from paramc.driver import understand
from paramc.model import answers
from paramc.numbers import crc
from paramc.numbers.units import SPELLINGS
from paramc.syntax import nodes, parse
from paramc.syntax.grammar_file import grammar_text
from paramc.text.diagnostic import Severity
from paramc.text.source import Source
from tests.unit.pages import Fence, fences, page, prose, spans, table

PAGE = page("grammar/LANGUAGE.md")
BLOCKS = [fence for fence in fences(PAGE) if fence.info.split()[:1] == ["paramc"]]
WHOLE = [fence for fence in BLOCKS if fence.info == "paramc"]
PARTS = [fence for fence in BLOCKS if fence.info == "paramc part"]
KINDS = ("param", "selector", "flag", "trim", "preset", "mode")


def lines_of(fence: Fence) -> str:
    return f"line {fence.line}"


def blocks_of(text: str) -> tuple[nodes.Block, ...]:
    read = parse.parse(Source("LANGUAGE.md", text))
    assert read.value is not None, read.diagnostics
    return read.value.blocks


def with_the_rest(part: str) -> str:
    """A part behind the product at the head of the page; where it has a block of which there is only one,
    that product's own is left out."""
    own = {word for word in ("product", "chip", "holds") if re.search(rf"^{word}\b", part, re.MULTILINE)}
    kept = [text for block in blocks_of(WHOLE[0].text) if (text := block.span.text).split()[0] not in own]
    return "\n".join([*kept, part])


def said(text: str) -> list[tuple[str, str]]:
    """The rules and sentences of all that is said of a product."""
    return [(one.rule.name, one.sentence) for one in understand(Source("page.paramc", text)).diagnostics]


def stops(text: str) -> list[tuple[str, str]]:
    severity = {rule.name: rule.severity for rule in RULES}
    return [one for one in said(text) if severity[one[0]] is Severity.STOP]


# ---- the examples


def test_there_are_examples_of_every_sort() -> None:
    assert len(WHOLE) == 1
    assert len(PARTS) > 4 and len(WHOLE) + len(PARTS) == len(BLOCKS)


@pytest.mark.parametrize("fence", WHOLE, ids=lines_of)
def test_a_whole_product_is_without_fault(fence: Fence) -> None:
    assert said(fence.text) == []


@pytest.mark.slow
@pytest.mark.parametrize("fence", PARTS, ids=lines_of)
def test_a_part_is_without_fault_in_the_whole_product(fence: Fence) -> None:
    # A part shows controls without the modes that give them something to do.
    left = [one for one in said(with_the_rest(fence.text)) if one[0] != "control-unused"]
    assert left == []


# ---- words


def keywords() -> set[str]:
    """Every word that the grammar asks for."""
    rules = re.sub(r"^//.*$", "", grammar_text(), flags=re.MULTILINE)
    return {*re.findall(r'"([a-zA-Z]+)"', rules), "brown-out"}


def shown_words() -> set[str]:
    shown = [fence.text for fence in BLOCKS] + spans(prose(PAGE))
    return set(re.findall(r"[A-Za-z]+(?:-[a-z]+)*", " ".join(shown)))


def test_every_keyword_of_the_grammar_is_shown() -> None:
    words = keywords()
    assert {"product", "converge", "KiB", "borrow"} <= words  # the reading of the grammar is not blind
    assert words - shown_words() == set()


def test_every_rule_that_is_named_exists() -> None:
    hyphenated = {one for one in spans(prose(PAGE)) if re.fullmatch(r"[a-z]+(-[a-z0-9]+)+", one)} - {
        "brown-out", "lamp-over-3-herz",
    }
    assert len(hyphenated) > 10
    assert hyphenated <= {rule.name for rule in RULES}


# ---- tables


def places(rows: list[dict[str, str]], columns: tuple[str, ...]) -> dict[str, frozenset[str]]:
    """Where something goes: by the first cell of a row the columns with anything in them."""
    first = next(iter(rows[0]))
    return {row[first]: frozenset(column for column in columns if row[column]) for row in rows}


def test_statements_go_where_the_checks_let_them() -> None:
    assert places(table(PAGE, "statement", "param"), KINDS) == dict(items.WHERE)


@pytest.mark.parametrize("kind", ["param", "selector", "flag", "trim"])
def test_what_has_to_be_said_is_asked_for(kind: str) -> None:
    must = {row["statement"] for row in table(PAGE, "statement", "param") if row[kind] == "must"}
    ways = 'way a "A"  way b "B"' if kind == "selector" else ""
    told = [sentence for rule, sentence in stops(with_the_rest(f'{kind} bare "Bare" {{ {ways} }}'))
            if rule == "unsaid"]
    asked = {match[1] for one in told if (match := re.search(r"does not say its (.+)\.", one))}
    assert must == asked
    one_of = [row["statement"] for row in table(PAGE, "statement", "param") if row[kind] == "one of"]
    assert len(told) == len(asked) + bool(one_of)
    assert not one_of or f"says neither {' nor '.join(one_of)}" in " ".join(told)


def test_what_may_be_said_again_is_what_the_checks_let_be() -> None:
    again = {row["statement"] for row in table(PAGE, "statement", "param") if "many" in row.values()}
    assert again == {word_of(kind) for kind in items._SEVERAL}


def the_line(text: str, opening: str, of: type[nodes.Node]) -> type[nodes.Node]:
    """The class of the one line in a block that a code span makes."""
    [block] = blocks_of(opening.format(spans(text)[0]))
    [group] = _members(block)
    [line] = [member for member in _members(group) if not isinstance(member, of)]
    return type(line)


def _members(node: nodes.Node) -> list[nodes.Node]:
    return [one for field in vars(node).values() if isinstance(field, tuple) for one in field]


def test_parts_of_holds_go_where_the_checks_let_them() -> None:
    columns = tuple(holds.PARTS)
    found = {
        the_line(cell, "holds {{ state {} }}", nodes.Store): kinds
        for cell, kinds in places(table(PAGE, "part"), columns).items()
    }
    parts = frozenset().union(*holds.PARTS.values())
    assert found == {
        part: frozenset(kind for kind in columns if part in holds.PARTS[kind]) for part in parts
    }


def test_lines_of_the_panel_go_where_the_checks_let_them() -> None:
    columns = ("knob", "toggle", "rotary", "footswitch", "lamp")
    found = {
        the_line(cell, 'panel {{ knob K "K" {{ {} }} }}', nodes.Part): kinds
        for cell, kinds in places(table(PAGE, "line"), columns).items()
    }
    lines = panel.LINES["knob"] - {nodes.AfterRecall, nodes.Learned, nodes.Unplugged}
    assert found == {line: frozenset(kind for kind in columns if line in panel.LINES[kind]) for line in lines}


def test_the_units_are_those_that_can_be_written() -> None:
    listed = {
        (row["dimension"], unit) for row in table(PAGE, "dimension") for unit in spans(row["units"])
    }
    # The signs for micro and ohm are told in words: on a page they could not be told apart.
    assert listed == {
        (unit.dimension.value, spelling)
        for spelling, unit in SPELLINGS.items() if spelling and spelling.isascii()
    }


def test_the_catalogue_of_checksums_is_ours() -> None:
    [paragraph] = re.findall(r"^Catalogue:(.*?)\n\n", PAGE, flags=re.MULTILINE | re.DOTALL)
    assert spans(paragraph) == list(crc.CATALOGUE)


def test_the_bounds_are_those_of_the_checks() -> None:
    wanted: dict[str, tuple[object, object]] = {
        "characters of a name": (1, names.LONGEST),
        "letters of the prefix": (1, 8),
        "code": (facts.LOWEST_CODE, facts.HIGHEST_CODE),
        "revision": (facts.LOWEST_REVISION, facts.HIGHEST_REVISION),
        "board revisions": (0, facts.MOST_HARDWARE),
        "bytes of the chip": (1, chip.LARGEST),
        "writes of its endurance": (1, chip._MOST_WRITES),
        "copies of identity or bench": (holds._LEAST_COPIES["identity"], holds.MOST_PLACES),
        "copies of setup or state": (holds._LEAST_COPIES["state"], holds.MOST_PLACES),
        "slots with their spare places": (2, holds.MOST_PLACES),
        "characters of a serial": (1, holds.LONGEST_SERIAL),
        "bytes of a preset's stored name": (1, holds.LONGEST_PRESET_NAME),
        "growth bytes": (0, holds.MOST_GROWTH),
        "saves a day": (1, holds.MOST_SAVES),
        "bits of a converter": (panel.LEAST_ADC_BITS, panel.MOST_ADC_BITS),
        "degrees of turn": (panel.LEAST_TURN, panel.MOST_TURN),
        "positions of a toggle": panel.POSITIONS["toggle"],
        "positions of a rotary": panel.POSITIONS["rotary"],
        "codes of a param, selector or trim": (2, scales.MOST_CODES),
        "points of a taper": (2, tapers.MOST_POINTS),
        "percent of travel that are flat": (0, scales.MOST_FLAT),
        "how deep an expression is nested": (1, answers.DEEPEST),
        "bits of a coded item": (scales._LEAST_CODED_BITS, scales.MOST_CODED_BITS),
        "seconds of a hold": (gestures.SHORTEST_HOLD, gestures.LONGEST_HOLD),
        "seconds of `while held`": (gestures.SHORTEST_HOLD, gestures.LONGEST_WHILE),
        "seconds before a mode is left": (modes.SHORTEST_LEAVE, modes.LONGEST_LEAVE),
        "characters of a file": (0, parse.LONGEST_TEXT),
        "blocks of a file": (0, parse.MOST_BLOCKS),
    }
    found = {
        row["what"]: (Fraction(row["least"]), Fraction(row["most"])) for row in table(PAGE, "what", "least")
    }
    assert found == wanted


# ---- literals

STANDS_IN = {
    "name": 'flag {} "Flag" {{ default off }}',
    "control": 'panel {{ lamp {} "Lamp" }}',
    "text": 'mode texts {{ help {} }}',
    "whole number": "chip {{ size 1024 bytes  page 1 byte  endurance {} writes  brown-out 2.7 V }}",
    "address": "chip {{ size 1 KiB  page 1 byte  endurance 9 writes  brown-out 2.7 V  hex at {} }}",
    "quantity": 'param it "It" {{ range 0 ms .. 3000 ms  step 0.5 ms  default {} }}',
    "level": 'param it "It" {{ range -20 dB .. 20 dB  step 1 dB  default {} }}',
    "ratio": 'param it "It" {{ range 1:1 .. 9:1  step 0.5:1  default {} }}',
    "clock position": 'param it "It" {{ range 1 % .. 9 %  coded 8 bits  default at {} }}',
    "range": 'param it "It" {{ range {}  coded 8 bits }}',
    "fraction": 'selector it "It" {{ way a "A" = 1  way b "B" = {}  default a }}',
    "format": 'param it "It" {{ range 0 % .. 1 %  coded 8 bits  engine {} where 1 is 2 % }}',
    "rule": 'mode lamps {{ enter jumper "J"  shows STATUS blinks 9 Hz }} accept {} because "it is dim"',
}


@pytest.mark.slow
@pytest.mark.parametrize("row", table(PAGE, "literal"), ids=lambda row: str(row["wrong"]))
def test_literals_are_right_and_wrong_as_shown(row: dict[str, str]) -> None:
    stands_in = STANDS_IN[row["literal"]]
    for right in spans(row["right"]):
        assert stops(with_the_rest(stands_in.format(right))) == [], right
    [wrong], [rule] = spans(row["wrong"]), spans(row["rule"])
    assert rule in {name for name, _ in stops(with_the_rest(stands_in.format(wrong)))}


def test_every_literal_is_shown() -> None:
    assert {row["literal"] for row in table(PAGE, "literal")} == set(STANDS_IN)


def test_names_that_are_taken_are_said_to_be() -> None:
    assert "c-word" in {name for name, _ in stops(with_the_rest('flag switch "S" { default off }'))}
    assert "switch" in c_names.TAKEN
