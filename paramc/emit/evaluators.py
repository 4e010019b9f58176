"""The functions in C that tables share: those that a product's tables call, and no others."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from paramc.emit.constants import CType, reader
from paramc.frozen import dataclass
from paramc.tables.costs import DOWN, PLACE, Part, Routine


@dataclass(frozen=True, slots=True)
class WordView:
    """An evaluator of heights in words. upper: whether a word has more than one byte; long: more than two."""

    bits: str
    word: str
    read: str
    upper: bool
    long: bool


@dataclass(frozen=True, slots=True)
class SearchView:
    """An evaluator that looks for the piece of a code. product: the type that its products fit."""

    name: str
    word: str
    read: str
    start: str
    read_start: str
    slope: str
    read_slope: str
    product: str


@dataclass(frozen=True, slots=True)
class EvaluatorsView:
    """All evaluators, each kind in the order of its widths. multiplies: whether bytes are multiplied;
    everywhere: on chips without an instruction for it as well. widens: whether there are any of wide blocks.
    narrows: whether heights lose their last places by a product."""

    multiplies: bool
    everywhere: bool
    widens: bool
    narrows: bool
    betweens: tuple[WordView, ...]
    grids: tuple[WordView, ...]
    blocks: tuple[WordView, ...]
    wide_blocks: tuple[WordView, ...]
    segments: tuple[SearchView, ...]
    knots: tuple[SearchView, ...]


_PRODUCTS: Final = {Part.SEGMENTS: "uint32_t", Part.SHORT_SEGMENTS: "uint16_t"}


def evaluators(routines: Iterable[Routine]) -> EvaluatorsView:
    """The evaluators that these routines name; those of the compiler's own library are not among them."""
    wanted = sorted(frozenset(routines), key=lambda routine: (routine.part.value, routine.words))

    def words(part: Part) -> tuple[WordView, ...]:
        return tuple(_word(routine) for routine in wanted if routine.part is part)

    everywhere = PLACE in wanted or bool(words(Part.BLOCKS))
    return EvaluatorsView(
        multiplies=everywhere or bool(words(Part.WIDE_BLOCKS)),
        everywhere=everywhere,
        widens=bool(words(Part.WIDE_BLOCKS)),
        narrows=DOWN in wanted,
        betweens=words(Part.BETWEEN),
        grids=words(Part.GRID),
        blocks=words(Part.BLOCKS),
        wide_blocks=words(Part.WIDE_BLOCKS),
        segments=tuple(_search(routine) for routine in wanted if routine.part in _PRODUCTS),
        knots=tuple(_search(routine) for routine in wanted if routine.part is Part.KNOTS),
    )


def function_name(routine: Routine) -> str:
    """What the function of a routine is called behind the product's prefix, "blocks_16"; of a part that the
    compiler's library has, none is."""
    return "_".join((routine.part.value.replace(" ", "_"), *map(str, routine.words)))


def _word(routine: Routine) -> WordView:
    [bits] = routine.words
    word = CType(False, bits).name
    return WordView(str(bits), word, reader(word), bits > 8, bits > 16)


def _search(routine: Routine) -> SearchView:
    word, start, slope = (CType(False, bits).name for bits in (*routine.words, 32)[:3])
    return SearchView(
        name=function_name(routine),
        word=word,
        read=reader(word),
        start=start,
        read_start=reader(start),
        slope=slope,
        read_slope=reader(slope),
        product=_PRODUCTS.get(routine.part, "uint32_t"),
    )
