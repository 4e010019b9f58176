"""An engine statement with the item that it belongs to, and how messages speak of both."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from paramc.check.engine_text import engine_text
from paramc.check.proposals import WouldDo, first_that_does
from paramc.check.statements import Statements
from paramc.frozen import dataclass
from paramc.model.items import Item, Param, Selector, Trim
from paramc.numbers.formats import Format
from paramc.numbers.quantity import Quantity
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark, Rule
from paramc.text.source import Span

Proposal = tuple[str, nodes.ItemLine]
"""A statement as text and as what it would be read as."""


@dataclass(frozen=True, slots=True)
class EngineSaid:
    """One engine statement. item: without its engine while that is read, with it when its codes are asked
    about. would_do: whether another statement would do in place of one of the item's."""

    item: Item
    written: nodes.Engine
    said: Statements
    would_do: WouldDo
    found: list[Diagnostic]

    @property
    def owner(self) -> str:
        """'param "Time"'."""
        return self.said.owner

    def tell(
        self,
        rule: Rule,
        sentence: str,
        place: Span,
        also: tuple[Mark, ...] = (),
        because: tuple[str, ...] = (),
        try_: str = "",
    ) -> None:
        """One diagnostic more."""
        self.found.append(Diagnostic(rule, sentence, place, also, because, try_))

    def its_range(self) -> tuple[Mark, ...]:
        """The place of the item's range, where it has one."""
        node = self.said.get(nodes.Range)
        return (Mark(node.span, "its range"),) if node else ()

    def ends(self) -> tuple[Fraction, ...]:
        """The numbers among which the item's lowest and highest are."""
        if isinstance(self.item, Param | Trim):
            return self.item.scale.first, self.item.scale.last
        if isinstance(self.item, Selector):
            return tuple(way.number.number for way in self.item.ways if way.number is not None)
        return (Fraction(0), Fraction(1))

    # ---- other statements to propose

    def with_format(self, form: Format) -> Proposal:
        """The same engine in another format."""
        word = nodes.Word(self.written.format.span, form.name)
        written = nodes.Engine(self.written.span, word, self.written.conversion, self.written.within)
        return engine_text(written), written

    def with_conversion(self, conversion: nodes.Conversion) -> Proposal:
        """The same engine with another conversion."""
        written = nodes.Engine(self.written.span, self.written.format, conversion, self.written.within)
        return engine_text(written), written

    def with_range(self, first: Quantity, last: Quantity) -> Iterable[Proposal]:
        """The item's range with other ends, where it has one."""
        node = self.said.get(nodes.Range)
        if node is not None:
            ends = nodes.Quantity(node.first.span, first), nodes.Quantity(node.last.span, last)
            yield f"range {first} .. {last}", nodes.Range(node.span, *ends)

    def bare(self) -> Iterable[Proposal]:
        """The code as stored, in the format that is asked for and in others."""
        word = self.written.format
        for name in (word.text, "u8", "u16"):
            written = nodes.Engine(self.written.span, nodes.Word(word.span, name), None, None)
            yield engine_text(written), written

    def first(self, proposals: Iterable[Proposal]) -> str:
        """The first of these statements that would do, as text."""
        return first_that_does(proposals, self.would_do)
