"""A source text and places in it. Lines and columns exist in this file only."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import field

from paramc.frozen import dataclass


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One text file.

    name: how messages call it, as the user gave it.
    text: its whole text with line ends as read.
    stands_at: the place in another source where it is borrowed; None for one that stands alone.
    """

    name: str
    text: str
    stands_at: Span | None = None
    _starts: tuple[int, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        # Only the line feed ends a line here: a form feed or a line separator inside a
        # comment must not shift the numbers that an editor shows.
        starts = [0]
        starts.extend(i + 1 for i, char in enumerate(self.text) if char == "\n")
        object.__setattr__(self, "_starts", tuple(starts))

    def line_of(self, offset: int) -> int:
        """The line of a character, counted from 1."""
        return bisect_right(self._starts, offset)

    def column_of(self, offset: int) -> int:
        """The column of a character in its line, counted from 1 in code points."""
        return offset - self._starts[self.line_of(offset) - 1] + 1

    def line_text(self, line: int) -> str:
        """The text of a line (counted from 1) without its line end."""
        start = self._starts[line - 1]
        end = self._starts[line] - 1 if line < len(self._starts) else len(self.text)
        return self.text[start:end].rstrip("\r")

    def line_start(self, line: int) -> int:
        """The offset of a line's first character."""
        return self._starts[line - 1]

    @property
    def lines(self) -> int:
        """How many lines the text has."""
        return len(self._starts)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a source: characters start up to but not including end."""

    source: Source
    start: int
    end: int

    @property
    def line(self) -> int:
        """Line of the first character, from 1."""
        return self.source.line_of(self.start)

    @property
    def column(self) -> int:
        """Column of the first character, from 1."""
        return self.source.column_of(self.start)

    @property
    def end_line(self) -> int:
        """Line of the last character, from 1."""
        return self.source.line_of(max(self.start, self.end - 1))

    @property
    def end_column(self) -> int:
        """Column just past the last character, from 1."""
        return self.source.column_of(max(self.start, self.end - 1)) + (self.end > self.start)

    @property
    def text(self) -> str:
        """The characters themselves."""
        return self.source.text[self.start : self.end]

    @property
    def order(self) -> tuple[int, ...]:
        """What sorts places in one product file and all that it borrows in reading order."""
        outer = self.source.stands_at
        return (self.start,) if outer is None else (*outer.order, self.start)

    @property
    def root(self) -> Source:
        """The source that stands alone: its own, or the one that borrows it, by however many ways round."""
        outer = self.source.stands_at
        return self.source if outer is None else outer.root

    def to(self, other: Span) -> Span:
        """The stretch from the start of this one to the end of the other."""
        return Span(self.source, self.start, other.end)
