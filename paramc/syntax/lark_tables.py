"""The tables of grammar/paramc.lark, worked out by lark. The only file that imports it."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable
from typing import Any

import lark
from lark.grammar import Rule, Terminal
from lark.lexer import TerminalDef
from lark.parsers.lalr_analysis import Shift

from paramc.syntax.automaton import NAME, Production, Tables
from paramc.syntax.grammar_file import grammar_text


class _WholeWords:
    """Makes lark's lexer know NAME in every state, so that a keyword is a whole word there and a letter more
    makes it another word."""

    always_accept = (NAME,)

    def process(self, stream: Any) -> Any:
        return stream


def make_parser(**options: Any) -> lark.Lark:
    """Lark's own parser of grammar/paramc.lark; options go to lark (a test asks for strict=True)."""
    return lark.Lark(
        grammar_text(),
        parser="lalr",
        lexer="contextual",
        postlex=_WholeWords(),  # lark takes anything with these two names
        propagate_positions=True,
        maybe_placeholders=True,
        **options,
    )


def tables_of_grammar() -> Tables:
    """What the automaton runs on."""
    parser = make_parser()
    table = parser.parser.parser._parse_table
    number = {rule: n for n, rule in enumerate(parser.rules)}
    # States are numbered from 0 without a gap.
    actions = [
        {name: arg if does is Shift else ~number[arg] for name, (does, arg) in table.states[state].items()}
        for state in range(len(table.states))
    ]
    words, others = _sorted_out(parser.terminals)
    ignored = [one.pattern.to_regexp() for one in parser.terminals if one.name in parser.ignore_tokens]
    choices: dict[tuple[str, ...], tuple[str, ...]] = {}
    return Tables(
        actions,
        table.start_states["start"],
        table.end_states["start"],
        [_production(rule) for rule in parser.rules],
        [choices.setdefault(found, found) for found in (_choice(others, state) for state in actions)],
        {terminal.name: terminal.pattern.to_regexp() for terminal in others},
        f"(?:{'|'.join(ignored)})+",
        {terminal.pattern.value: terminal.name for terminal in words},
    )


def _sorted_out(terminals: Iterable[TerminalDef]) -> tuple[list[TerminalDef], list[TerminalDef]]:
    """The terminals that are keywords, and the others as a lexer tries them."""
    terminals = list(terminals)
    name = re.compile(next(one for one in terminals if one.name == NAME).pattern.to_regexp())
    words = [one for one in terminals if one.pattern.type == "str" and name.fullmatch(one.pattern.value)]
    others = [one for one in terminals if one not in words]
    others.sort(key=lambda t: (-t.priority, -t.pattern.max_width, -len(t.pattern.value), t.name))
    return words, others


def _choice(others: list[TerminalDef], state: Container[str]) -> tuple[str, ...]:
    return tuple(terminal.name for terminal in others if terminal.name == NAME or terminal.name in state)


def _production(rule: Rule) -> Production:
    """As lark shapes trees: words without a name of their own are left out unless the rule keeps all, a rule
    whose name begins with _ is opened, and [x] that is not there leaves a place."""
    options = rule.options
    data = rule.alias or options.template_source or rule.origin.name
    gaps = [len(ones) for ones in "".join(str(int(gap)) for gap in options.empty_indices).split("0")]
    chosen, empty = [], 0
    for place, symbol in enumerate(rule.expansion):
        empty += gaps[place] if options.empty_indices else 0
        if options.keep_all_tokens or not (isinstance(symbol, Terminal) and symbol.filter_out):
            chosen.append((place, not symbol.is_term and symbol.name.startswith("_"), empty))
            empty = 0
    empty += gaps[len(rule.expansion)] if options.empty_indices else 0
    single = bool(options.expand1 and not rule.alias)
    return str(rule.origin.name), len(rule.expansion), str(data), single, tuple(chosen), empty
