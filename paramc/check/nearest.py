"""The known name that an unknown one was probably meant to be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

_LONGEST = 40
_ALIKE = 0.6


class Nearest:
    """Known names, to be asked for the one nearest to an unknown one.

    Two words are near when they become equal by leaving out at most one letter of each: a letter
    too many, too few, another, or two that changed places. A question costs as many look-ups as
    the word has letters, however many names are known, because a hostile file can hold tens of
    thousands of unknown names beside as many known ones.
    """

    def __init__(self, known: Iterable[str]) -> None:
        self._known = tuple(dict.fromkeys(known))
        self._by_rest: dict[str, list[str]] = {}

    def to(self, word: str) -> str | None:
        """The nearest known name, the first of equals; None where none is near."""
        from difflib import SequenceMatcher  # slow to import, and most texts are right

        if not self._by_rest:
            for name in self._known:
                for rest in _rests(name):
                    self._by_rest.setdefault(rest, []).append(name)
        best: str | None = None
        score = _ALIKE
        for rest in _rests(word):
            # The first few of a bucket are enough: all in it are equally near.
            for name in self._by_rest.get(rest, ())[:4]:
                ratio = SequenceMatcher(None, word, name).ratio()
                if ratio > score:
                    best, score = name, ratio
        return best


def _rests(word: str) -> Iterator[str]:
    """The word and what is left of it without one of its letters; none for words beyond reason."""
    if len(word) <= _LONGEST:
        yield from dict.fromkeys((word, *(word[:at] + word[at + 1 :] for at in range(len(word)))))
