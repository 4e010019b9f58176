"""What is read, what is refused and where the finger points."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paramc.numbers.quantity import Quantity
from paramc.numbers.units import SPELLINGS
from paramc.syntax import nodes
from paramc.syntax.parse import DEEPEST, LONGEST_TEXT, parse
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Source


def blocks(text: str) -> tuple[nodes.Block, ...]:
    answer = parse(Source("test.paramc", text))
    assert answer.value is not None, answer.diagnostics
    return answer.value.blocks


def refused(text: str) -> Diagnostic:
    answer = parse(Source("test.paramc", text))
    assert answer.value is None
    (only,) = answer.diagnostics
    return only


def lines_of(text: str) -> tuple[nodes.ItemLine, ...]:
    (item,) = blocks(f'param it "It" {{ {text} }}')
    assert isinstance(item, nodes.Item)
    return item.lines


def quantity(text: str) -> Quantity:
    (step,) = lines_of(f"step {text}")
    assert isinstance(step, nodes.Step)
    return step.value.amount


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("350 ms", "350", "ms"),
        ("-12 dB", "-12", "dB"),
        ("\u221212 dB", "-12", "dB"),
        ("+4 dBu", "4", "dBu"),
        ("0.05 Hz", "0.05", "Hz"),
        ("45 %", "45", "%"),
        ("45%", "45", "%"),
        ("1_000_000", "1000000", ""),
        ("4:1", "4", ":1"),
        ("1.5:1", "1.5", ":1"),
        ("3\u00a0\u00b5s", "3", "us"),
        ("3 \u03bcs", "3", "us"),
        ("10 k\u03a9", "10", "kohm"),
        ("1 cent", "1", "cents"),
        ("2.5 x", "2.5", "x"),
    ],
)
def test_quantities(text: str, number: str, unit: str) -> None:
    found = quantity(text)
    assert found.number == Fraction(number)
    assert found.unit == (SPELLINGS[unit] if unit else found.unit)
    assert found.unit.symbol == unit


@pytest.mark.parametrize(
    ("text", "rule", "try_"),
    [
        ("step 007 ms", "number-form", "7"),
        ("step .5 ms", "number-form", "0.5"),
        ("step 1. ms", "number-form", "1"),
        ("step 1e3 ms", "number-form", ""),
        ("step 1_00 ms", "number-form", "100"),
        ("step 0,5 ms", "decimal-comma", "0.5"),
        ("step 1,200 ms", "decimal-comma", "1.200"),
        ('help "a', "text-form", ""),
        ('help "a\\t"', "text-form", '\\" or \\\\ or \\n'),
        ('help "a\u202eb"', "text-form", ""),
        ('help "a\ab"', "text-form", ""),
        ("default at 6:15", "clock-form", "7:00 to 5:00"),
        ("default at 13:00", "clock-form", "7:00 to 5:00"),
        ("rnage 1 ms .. 2 ms", "syntax", "range"),
        ("step 1x5 ms", "number-form", ""),
        ("step 0x1G ms", "number-form", ""),
        ("step 1F00 ms", "number-form", ""),
        ("step 5 ms Step 6 ms", "syntax", "step"),
    ],
)
def test_refusals(text: str, rule: str, try_: str) -> None:
    found = refused(f'param it "It" {{ {text} }}')
    assert (found.rule.name, found.try_) == (rule, try_)
    assert found.place is not None
    assert found.place.line == 1


def test_clock_positions() -> None:
    minutes = {"7:00": -300, "9:30": -150, "12:00": 0, "12:05": 5, "2:30": 150, "5:00": 300}
    for text, wanted in minutes.items():
        (default,) = lines_of(f"default at {text}")
        assert isinstance(default, nodes.Default)
        assert isinstance(default.value, nodes.AtClock)
        assert default.value.clock.minutes == wanted


def test_four_to_one_is_no_clock() -> None:
    assert quantity("4:1").unit.symbol == ":1"
    (default,) = lines_of("default at 4:10")
    assert isinstance(default, nodes.Default)
    assert isinstance(default.value, nodes.AtClock)


KEYWORDS = (
    "order", "range", "step", "press", "mode", "at", "by", "is", "preset", "page", "help", "caution",
    "hold", "sets", "noon", "off", "linear", "after", "default", "gain", "as", "size", "checksum",
)  # fmt: skip


@pytest.mark.parametrize("word", KEYWORDS)
def test_keywords_are_free_as_names(word: str) -> None:
    text = f"""
        param {word} "It" {{ range 0 .. 3  step 1 }}
        selector pick "Pick" {{ way {word} "W"  way other "O"  default {word} }}
        mode main {{ TIME sets {word}  MIX sets other }}
        preset 1 "P" {{ other 3  {word} 2  pick {word}  more 1 }}
        promise "p" at noon {word} <= 3
        accept some-rule for {word} because "x"
    """
    item, selector, mode, preset, promise, accept = blocks(text)
    assert isinstance(item, nodes.Item)
    assert item.name.text == word
    assert isinstance(selector, nodes.Item)
    default = selector.lines[2]
    assert isinstance(default, nodes.Default)
    assert isinstance(default.value, nodes.Name)
    assert default.value.text == word
    assert isinstance(mode, nodes.Mode)
    assert isinstance(preset, nodes.Preset)
    settings = [(line.item.text, line.value) for line in preset.lines if isinstance(line, nodes.Setting)]
    assert [name for name, _ in settings] == ["other", word, "pick", "more"]
    assert isinstance(promise, nodes.Promise)
    assert isinstance(promise.subject, nodes.Name)
    assert isinstance(accept, nodes.Accept)
    assert isinstance(accept.subject, nodes.Name)


def test_keywords_are_whole_words() -> None:
    found = refused('param it "It" { stepping 3 }')
    assert (found.rule.name, found.place and found.place.text) == ("syntax", "stepping")


def expression(text: str) -> nodes.Expression:
    (promise,) = blocks(f'promise "p" at noon is {text} <= 1')
    assert isinstance(promise, nodes.Promise)
    assert isinstance(promise.subject, nodes.ByExpression)
    return promise.subject.expression


def meaning(node: nodes.Expression) -> Fraction:
    match node:
        case nodes.Number():
            return node.value
        case nodes.Negated():
            return -meaning(node.value)
        case nodes.Sum():
            return sum((meaning(term) * (1 if plus else -1) for plus, term in node.terms), Fraction(0))
        case nodes.Factors():
            product = Fraction(1)
            for times, factor in node.factors:
                product = product * meaning(factor) if times else product / meaning(factor)
            return product
        case nodes.Power():
            *bases, last = (meaning(part) for part in node.parts)
            for base in reversed(bases):
                last = Fraction(base**last)
            return last
        case _:
            raise AssertionError(node)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("-2^2", -4),
        ("2^3^2", 512),
        ("2^-1", Fraction(1, 2)),
        ("2^-3^2", Fraction(1, 512)),
        ("2^--3", 8),
        ("2^-1^-2^2", Fraction(1, 2)),
        ("1 - 2 - 3", -4),
        ("8 / 4 / 2", 1),
        ("2 + 3 * 4", 14),
        ("(2 + 3) * 4", 20),
        ("--2", 2),
        ("2 * -3", -6),
    ],
)
def test_precedence(text: str, wanted: Fraction | int) -> None:
    assert meaning(expression(text)) == wanted


@pytest.mark.parametrize(("text", "spans"), [
    ("(2 + 3)^2", ["(2 + 3)^2"]),
    ("2^(1 + 1)", ["2^(1 + 1)"]),
    ("1 + (2)^3 * 4", ["(2)^3"]),
    ("2^-(1+1)^3", ["2^-(1+1)^3", "(1+1)^3"]),
])  # fmt: skip
def test_the_place_of_a_power_has_its_brackets(text: str, spans: list[str]) -> None:
    def powers(node: nodes.Expression) -> list[str]:
        match node:
            case nodes.Power():
                return [node.span.text, *(one for part in node.parts for one in powers(part))]
            case nodes.Sum():
                return [one for _, term in node.terms for one in powers(term)]
            case nodes.Factors():
                return [one for _, factor in node.factors for one in powers(factor)]
            case nodes.Negated():
                return powers(node.value)
            case _:
                return []

    assert powers(expression(text)) == spans


def test_bounds() -> None:
    assert refused("#" * (LONGEST_TEXT + 1)).rule.name == "file-form"
    deep = DEEPEST - 1
    meaning(expression("(" * deep + "1" + ")" * deep))
    assert refused('promise "p" at noon is ' + "(" * 60_000 + "1").rule.name == "file-form"
    assert refused('promise "p" at noon is 1' + "+1" * 5_000 + " <= 2").rule.name == "file-form"
    assert refused('promise "p" at noon is 1' + "^1" * 5_000 + " <= 2").rule.name == "file-form"
    assert refused('promise "p" at noon is ' + "-" * 5_000 + "1 <= 2").rule.name == "file-form"
    assert refused('promise "p" at noon is 1' + "+1" * 50_000 + " <= 2").rule.name == "file-form"
    assert refused("\n".join(f'borrow "{i}"' for i in range(10_001))).rule.name == "file-form"
    assert refused(f'param it "It" {{ step {"9" * 60} ms }}').rule.name == "number-form"


def test_letters_that_are_two_characters() -> None:
    assert refused('param it "I\u0301t" { }').rule.name == "file-form"


BROKEN = ["{", "}", 'param x "X" {', '"', "\\", "\0", "param", "product a", "\u2028", "\u00e9"]


@pytest.mark.parametrize("text", BROKEN)
def test_broken_texts(text: str) -> None:
    found = refused(text)
    assert found.place is not None
    assert found.sentence.endswith(".")


@given(st.text(max_size=300))
def test_no_text_raises(text: str) -> None:
    parse(Source("any", text))


WORDS = [
    "param", "selector", "trim", "mode", "preset", "panel", "chip", "holds", "knob", "{", "}", "(", ")",
    ",", "..", "=", "+", "-", "^", "*", "/", "1", "2.5", "ms", "%", "TIME", "time", '"T"', "7:00", "4:1",
    "range", "step", "taper", "s", "points", "engine", "u16", "as", "gain", "within", "or", "nearest",
    "is", "value", "sqrt", "sets", "by", "from", "to", "at", "hold", "for", "press", "does", "bypass",
    "promise", "noon", "<=", "vary", "accept", "because", "since", "formerly", "was",
]  # fmt: skip


@given(st.lists(st.sampled_from(WORDS), max_size=40))
def test_no_sequence_of_words_raises(words: list[str]) -> None:
    parse(Source("any", " ".join(words)))
