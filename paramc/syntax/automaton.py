"""The parser that runs: a text and the tables of grammar/paramc.lark become a tree, or there is none.

Lark works the tables out; only to import it and to unpack its own tables takes several times as long as
reading a product here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, TypeAlias

from paramc.frozen import dataclass

END: Final = "$END"
NAME: Final = "NAME"
_FREE: Final = re.compile(r"[a-z_][a-z0-9_]*")


class Unread(Exception):
    """The text is none of this grammar from an offset on; ended: because it ends there. expected: the
    terminals that could stand there."""

    def __init__(self, start: int, expected: Iterable[str], *, ended: bool = False) -> None:
        super().__init__()
        self.start = start
        self.expected = frozenset(expected)
        self.ended = ended


class Glued(Exception):
    """A number with letters right behind it that are no unit: 1e3, 5mm. Where both begin and end."""

    def __init__(self, start: int, end: int) -> None:
        super().__init__()
        self.start = start
        self.end = end


class Token(str):
    """A terminal as written, with its name and the offsets where it begins and ends."""

    __slots__ = ("end", "start", "type")
    type: str
    start: int
    end: int


class Tree:
    """What a rule made of its members. start, end: the offsets of what it covers, words without a place in
    children included; start is -1 where that is nothing."""

    __slots__ = ("children", "data", "end", "start")

    def __init__(self, data: str, children: list[Child], start: int, end: int) -> None:
        self.data = data
        self.children = children
        self.start = start
        self.end = end

    def tokens(self) -> int:
        """How many tokens there are in it, places where one may stand and does not included."""
        count, left = 0, [self]
        while left:
            for child in left.pop().children:
                if isinstance(child, Tree):
                    left.append(child)
                else:
                    count += 1
        return count


Child: TypeAlias = "Tree | Token | None"

Match: TypeAlias = Callable[[str, int], "re.Match[str] | None"]

Production: TypeAlias = tuple[str, int, str, bool, tuple[tuple[int, bool, int], ...], int]
"""The rule's name; how many members it takes; what its tree is called; whether a single child stands for
it; the members that become children, each with whether its own children do instead and how many empty
places come before it; how many come last."""


@dataclass(frozen=True, slots=True)
class Tables:
    """actions: for every state what comes on a terminal, or on a rule that is complete: the next state, or
    ~n where production n is complete. first, last: the states at the start and at the end.
    choices: for every state the terminals other than keywords that its lexer tries in turn.
    patterns, ignored: of terminals, and of what stands between them. keywords: word to terminal.
    """

    actions: list[dict[str, int]]
    first: int
    last: int
    productions: list[Production]
    choices: list[tuple[str, ...]]
    patterns: Mapping[str, str]
    ignored: str
    keywords: Mapping[str, str]


class Automaton:
    """Reads texts with one set of tables; a terminal is compiled when it is first tried."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables
        self._ignored = re.compile(tables.ignored)
        self._matches: dict[str, Match] = {}
        self._tries: dict[tuple[str, ...], list[tuple[str, Match]]] = {}

    def read(self, text: str) -> Tree:
        """The tree of a text. Raises Unread or Glued.

        The lexer chooses among what may follow in any context of a state, so a keyword of another block can
        come where only a name fits: then it is a name.
        """
        actions, productions = self._tables.actions, self._tables.productions
        states, values = [self._tables.first], list[Child]()
        starts, ends = list[int](), list[int]()
        at, before = 0, ""
        while True:
            token = self._token(text, at, states)
            if before in ("NUMBER", "HEXADECIMAL") and token.start == at and _glues(token):
                raise Glued(starts[-1], token.end)
            kind = token.type
            while True:
                action = actions[states[-1]].get(kind)
                if action is None:
                    if kind == NAME or not _FREE.fullmatch(token):
                        told = self._accepted(states) or _terminals(actions[states[-1]])
                        raise Unread(token.start, told, ended=kind == END)
                    kind = token.type = NAME
                elif action >= 0:
                    break
                else:
                    name, size, data, single, chosen, empty_last = productions[~action]
                    cut = len(values) - size
                    children = _children(values[cut:], chosen, empty_last)
                    if size != 1:  # one member covers what it makes
                        start, end = _extent(starts[cut:], ends[cut:])
                        del starts[cut:], ends[cut:]
                        starts.append(start)
                        ends.append(end)
                    del states[cut + 1 :], values[cut:]
                    values.append(
                        children[0]
                        if single and len(children) == 1
                        else Tree(data, children, starts[-1], ends[-1])
                    )
                    states.append(actions[states[-1]][name])
                    if kind == END and states[-1] == self._tables.last:
                        tree = values[-1]
                        assert isinstance(tree, Tree)
                        return tree
            states.append(action)
            values.append(token)
            starts.append(token.start)
            ends.append(token.end)
            at, before = token.end, kind

    def _token(self, text: str, at: int, states: list[int]) -> Token:
        state = states[-1]
        ignored = self._ignored.match(text, at)
        start = at if ignored is None else ignored.end()
        if start == len(text):
            return _token(END, "", start)
        choice = self._tables.choices[state]
        tries = self._tries.get(choice)
        if tries is None:
            tries = self._tries[choice] = [(name, self._match(name)) for name in choice]
        for name, match in tries:
            found = match(text, start)
            if found is not None:
                word = found.group()
                if name == NAME:
                    keyword = self._tables.keywords.get(word)
                    if keyword is not None and keyword in self._tables.actions[state]:
                        name = keyword
                return _token(name, word, start)
        told: Iterable[str] = choice
        if any(self._match(name)(text, start) for name in self._tables.patterns):
            # A word of the language that has no use here.
            told = self._accepted(states) or told
        raise Unread(start, told)

    def _match(self, name: str) -> Match:
        match = self._matches.get(name)
        if match is None:
            match = self._matches[name] = re.compile(self._tables.patterns[name]).match
        return match

    def _accepted(self, states: Sequence[int]) -> list[str]:
        """The terminals that can come next after all that is complete has been made."""
        return [name for name in _terminals(self._tables.actions[states[-1]]) if self._takes(name, [*states])]

    def _takes(self, terminal: str, states: list[int]) -> bool:
        actions = self._tables.actions
        while True:
            action = actions[states[-1]].get(terminal)
            if action is None or action >= 0:
                return action is not None
            name, size, *_ = self._tables.productions[~action]
            del states[len(states) - size :]
            states.append(actions[states[-1]][name])
            if terminal == END and states[-1] == self._tables.last:
                return True


def _terminals(names: Iterable[str]) -> list[str]:
    return [name for name in names if name.isupper()]


def _token(kind: str, word: str, start: int) -> Token:
    token = Token(word)
    token.type, token.start, token.end = kind, start, start + len(word)
    return token


def _glues(token: Token) -> bool:
    return token.type != "UNIT" and token[:1].isalnum()


def _extent(starts: Sequence[int], ends: Sequence[int]) -> tuple[int, int]:
    """Where the first member that covers anything begins, and where the last one ends."""
    if not starts:
        return -1, -1
    start = starts[0] if starts[0] >= 0 else next((start for start in starts if start >= 0), -1)
    return start, max(ends)


def _children(
    members: list[Child], chosen: Sequence[tuple[int, bool, int]], empty_last: int
) -> list[Child]:
    children: list[Child] = []
    for place, opened, empty in chosen:
        children += [None] * empty
        member = members[place]
        if not opened:
            children.append(member)
            continue
        assert isinstance(member, Tree)
        if children:
            children += member.children
        else:
            # Taken as it is, since a long list grows by one member each time.
            children = member.children
    children += [None] * empty_last
    return children
