"""What an item or a product was in earlier revisions, and what older units are to sound like."""

from __future__ import annotations

from dataclasses import field
from typing import Final

from paramc.frozen import dataclass
from paramc.text.source import Span


@dataclass(frozen=True, slots=True)
class Became:
    """A way of a selector that is retired, and the code of the item that took its part."""

    way: str
    code: int


@dataclass(frozen=True, slots=True)
class Since:
    """The revision in which an item came.

    formerly: the code that units saved before it sound like; None where that is not said, and where
    a retired selector decides. by: that selector, by a name that it had, and number, the permanent one
    that releases gave it, None until they are at hand; became: what each of its ways turned into.
    """

    revision: int
    formerly: int | None = None
    by: str | None = None
    number: int | None = None
    became: tuple[Became, ...] = ()
    place: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class History:
    """since: when the item came, more than once where it came from different things for different old
    revisions. was: earlier names. narrowed: values of older units that the range of today cannot
    hold become the nearest ones in it."""

    since: tuple[Since, ...] = ()
    was: tuple[str, ...] = ()
    narrowed: bool = False

    def since_before(self, revision: int) -> Since | None:
        """What holds for units saved by a revision: the first coming of the item behind it."""
        later = (since for since in self.since if since.revision > revision)
        return min(later, key=lambda since: since.revision, default=None)


NO_HISTORY: Final = History()


@dataclass(frozen=True, slots=True)
class Retired:
    """An item that went in a revision; its name does not come back."""

    name: str
    since: int
    place: Span | None = field(default=None, compare=False, repr=False)
