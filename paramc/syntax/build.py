"""From the parser's tree to nodes: places are kept, literals become values, bad literals are told."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from paramc.numbers.quantity import Quantity as Amount
from paramc.numbers.units import NO_UNIT, SPELLINGS, Unit
from paramc.syntax import nodes
from paramc.syntax.automaton import Child, Token, Tree
from paramc.syntax.node import Node
from paramc.syntax.rules import CLOCK_FORM, FILE_FORM, NUMBER_FORM, TEXT_FORM
from paramc.text.diagnostic import Diagnostic, Rule
from paramc.text.source import Source, Span

EXPRESSION_PARTS = 500
EXPONENTS = 20

_DIGITS = re.compile(r"(0|[1-9][0-9]*|[1-9][0-9]{0,2}(_[0-9]{3})+)(\.[0-9]+)?\Z")
_ESCAPES = {'"': '"', "\\": "\\", "n": "\n"}
# Numbers longer than this cannot be meant, and keep exact arithmetic cheap.
_LONGEST_NUMBER = 40


class Refused(Exception):
    """A literal that has no value; carries its diagnostic out of the builder."""

    def __init__(self, diagnostic: Diagnostic) -> None:
        super().__init__(diagnostic.sentence)
        self.diagnostic = diagnostic


def build(tree: Tree, source: Source) -> nodes.Module:
    """The module that a parse tree stands for. Raises Refused on a literal without a value."""
    builder = _Builder(source)
    blocks = tuple(builder.node(child) for child in tree.children)
    return nodes.Module(Span(source, 0, len(source.text)), blocks)


def _class_of_rule() -> Mapping[str, type[Node]]:
    classes = {}
    for name, value in vars(nodes).items():
        if isinstance(value, type) and issubclass(value, Node):
            classes[re.sub(r"(?<!^)(?=[A-Z])", "_", name).lower()] = value
    return classes


_CLASSES = _class_of_rule()


class _Builder:
    def __init__(self, source: Source) -> None:
        self._source = source
        self._parts = 0

    def node(self, tree: Child) -> Any:
        """The node of a tree or token; None stays None."""
        if tree is None:
            return None
        if isinstance(tree, Token):
            return nodes.Word(self._span(tree), str(tree))
        special = _SPECIAL.get(tree.data)
        if special is not None:
            return special(self, tree)
        found = _CLASSES.get(tree.data)
        if found is None:
            words = " ".join(str(child) for child in tree.children)
            return nodes.Word(self._span(tree), words)
        make: Callable[..., nodes.Node] = found
        children = [self.node(child) for child in tree.children]
        if found.takes_rest:
            before = len(found.__match_args__) - 2
            rest = tuple(child for child in children[before:] if child is not None)
            return make(self._span(tree), *children[:before], rest)
        return make(self._span(tree), *children)

    def _span(self, tree: Tree | Token) -> Span:
        return Span(self._source, tree.start, tree.end)

    # ---- literals

    def name(self, tree: Tree) -> nodes.Name:
        return nodes.Name(self._span(tree), str(tree.children[0]))

    def control(self, tree: Tree) -> nodes.Control:
        return nodes.Control(self._span(tree), str(tree.children[0]))

    def text(self, tree: Tree) -> nodes.Text:
        span = self._span(tree)
        return nodes.Text(span, _unquoted(span))

    def integer(self, tree: Tree) -> nodes.Integer:
        span = self._span(tree)
        if span.text.startswith("0x"):
            if len(span.text) > _LONGEST_NUMBER:
                raise _refused(NUMBER_FORM, "This number is too long.", span)
            return nodes.Integer(span, int(span.text, 16), True)
        value = _number(span, span.text)
        if value.denominator != 1:
            raise _refused(
                NUMBER_FORM, f"A whole number belongs here, not {span.text}.", span, str(round(value))
            )
        return nodes.Integer(span, value.numerator, False)

    def quantity(self, tree: Tree) -> nodes.Quantity:
        span = self._span(tree)
        first = tree.children[0]
        if isinstance(first, Token) and first.type == "RATIO":
            text = str(first)[:-2]
            return nodes.Quantity(span, Amount(_number(span, text), SPELLINGS[":1"]))
        sign, number, unit_word = tree.children
        assert isinstance(number, Token)
        value = _number(self._span(number), str(number))
        if isinstance(sign, Tree) and str(sign.children[0]) != "+":
            value = -value
        unit: Unit = NO_UNIT if unit_word is None else SPELLINGS[str(unit_word)]
        return nodes.Quantity(span, Amount(value, unit))

    def fraction(self, tree: Tree) -> nodes.Ratio:
        sign, above, below = (child for child in tree.children if child != "/")
        assert isinstance(above, Token) and isinstance(below, Token)
        divisor = _number(self._span(below), str(below))
        if divisor == 0:
            raise _refused(NUMBER_FORM, "A fraction cannot be over zero.", self._span(tree))
        value = _number(self._span(above), str(above)) / divisor
        if isinstance(sign, Tree) and str(sign.children[0]) != "+":
            value = -value
        return nodes.Ratio(self._span(tree), value)

    def clock(self, tree: Tree) -> nodes.Clock:
        span = self._span(tree)
        hour, minute = (int(part) for part in span.text.split(":"))
        minutes = hour % 12 * 60 + minute
        if not 1 <= hour <= 12 or minute > 59 or 300 < minutes < 420:
            raise _refused(CLOCK_FORM, f"A knob cannot point to {span.text}.", span, "7:00 to 5:00")
        return nodes.Clock(span, minutes - 720 if minutes >= 420 else minutes)

    # ---- rules whose children need sorting

    def sets(self, tree: Tree) -> nodes.Sets:
        control, *items, chooser, pedal_range = (self.node(child) for child in tree.children)
        return nodes.Sets(self._span(tree), control, tuple(items), chooser, pedal_range)

    # ---- expressions

    def number(self, tree: Tree) -> nodes.Number:
        span = self._span(tree)
        return nodes.Number(span, _number(span, span.text))

    def sum(self, tree: Tree) -> nodes.Expression:
        self._count(tree)
        signed = self._marked(tree, "+")
        return signed[0][1] if len(signed) == 1 else nodes.Sum(self._span(tree), signed)

    def product_of(self, tree: Tree) -> nodes.Expression:
        signed = self._marked(tree, "*")
        return signed[0][1] if len(signed) == 1 else nodes.Factors(self._span(tree), signed)

    def negated(self, tree: Tree) -> nodes.Expression:
        *signs, value = tree.children
        inner: nodes.Expression = self.node(value)
        return nodes.Negated(self._span(tree), inner) if len(signs) % 2 else inner

    def power(self, tree: Tree) -> nodes.Expression:
        """Powers are taken from the right, and a sign before an exponent covers what follows it."""
        base, *exponents = tree.children
        if len(exponents) > EXPONENTS:
            raise _refused(
                FILE_FORM, f"More than {EXPONENTS} powers stand one upon another here.", self._span(tree)
            )
        parts: list[nodes.Expression] = []
        for exponent in reversed(exponents):
            assert isinstance(exponent, Tree)
            *signs, atom = exponent.children
            parts.insert(0, self.node(atom))
            if len(signs) % 2:
                sign, whole = self._span(exponent), self._span(tree)
                # What the sign covers begins behind it, bracket and all, and ends where the exponents do.
                behind = len(sign.text) - len(sign.text.lstrip("-\N{MINUS SIGN} \t\r\n"))
                covered = Span(whole.source, sign.start + behind, whole.end)
                parts = [nodes.Negated(sign, self._raised(parts, covered))]
        # The whole of it, with the brackets about its base and about its last exponent.
        return self._raised([self.node(base), *parts], self._span(tree))

    def _raised(self, parts: list[nodes.Expression], span: Span) -> nodes.Expression:
        return parts[0] if len(parts) == 1 else nodes.Power(span, tuple(parts))

    def call(self, tree: Tree) -> nodes.Call:
        function, *arguments = tree.children
        return nodes.Call(self._span(tree), str(function), tuple(self.node(child) for child in arguments))

    def _marked(self, tree: Tree, positive: str) -> tuple[tuple[bool, Any], ...]:
        """Operands with whether the mark before each is the positive one; the first has none."""
        marked = [(True, self.node(tree.children[0]))]
        for mark, child in zip(tree.children[1::2], tree.children[2::2], strict=True):
            marked.append((str(mark) == positive, self.node(child)))
        return tuple(marked)

    def _count(self, tree: Tree) -> None:
        if tree.tokens() > EXPRESSION_PARTS:
            raise _refused(
                FILE_FORM, f"This expression has more than {EXPRESSION_PARTS} parts.", self._span(tree)
            )


_SPECIAL: Mapping[str, Callable[[_Builder, Tree], Any]] = {
    "name": _Builder.name,
    "word_name": _Builder.name,
    "at_name": _Builder.name,
    "by_name": _Builder.name,
    "is_name": _Builder.name,
    "mode_name": _Builder.name,
    "preset_name": _Builder.name,
    "control": _Builder.control,
    "text": _Builder.text,
    "integer": _Builder.integer,
    "quantity": _Builder.quantity,
    "fraction": _Builder.fraction,
    "clock": _Builder.clock,
    "sets": _Builder.sets,
    "number": _Builder.number,
    "sum": _Builder.sum,
    "product_of": _Builder.product_of,
    "negated": _Builder.negated,
    "power": _Builder.power,
    "call": _Builder.call,
}


def _refused(rule: Rule, sentence: str, span: Span, try_: str = "") -> Refused:
    return Refused(Diagnostic(rule, sentence, span, try_=try_))


def _number(span: Span, text: str) -> Fraction:
    if len(text) > _LONGEST_NUMBER:
        raise _refused(
            NUMBER_FORM, f"This number has {len(text)} characters; {_LONGEST_NUMBER} are taken.", span
        )
    if not _DIGITS.match(text):
        plain = text.replace("_", "").lstrip("0") or "0"
        plain = "0" + plain if plain.startswith(".") else plain
        raise _refused(NUMBER_FORM, f"{text} is not how a number is written here.", span, plain)
    return Fraction(text.replace("_", ""))


def _unquoted(span: Span) -> str:
    """The value of a quoted text; its quotes are the first and last character."""
    out = []
    body = span.text[1:-1]
    at = 0
    while at < len(body):
        char = body[at]
        here = Span(span.source, span.start + 1 + at, span.start + 2 + at)
        if char == "\\":
            escaped = body[at + 1]
            here = Span(here.source, here.start, here.end + 1)
            if escaped not in _ESCAPES:
                raise _refused(TEXT_FORM, "A text knows three escapes only.", here, '\\" or \\\\ or \\n')
            out.append(_ESCAPES[escaped])
            at += 2
            continue
        # Cc: control; Cf: two-way marks and invisible joints; Cs, Co, Cn: no agreed meaning;
        # Zl, Zp: line ends that editors do not agree on.
        if unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}:
            sentence = f"The character U+{ord(char):04X} cannot be shown and is not taken in a text."
            raise _refused(TEXT_FORM, sentence, here)
        out.append(char)
        at += 1
    return "".join(out)
