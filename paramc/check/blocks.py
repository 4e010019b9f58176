"""The blocks of a file by kind: those that stand once, and those that have to stand at all."""

from __future__ import annotations

from typing import TypeVar

from paramc.check.statement_rules import UNSAID
from paramc.check.statements import said_twice, word_of
from paramc.check.words import keyword
from paramc.frozen import dataclass
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic

N = TypeVar("N", bound=nodes.Node)

_ONCE = (nodes.Product, nodes.Chip, nodes.Holds)
_WRITE: dict[type[nodes.Node], str] = {
    nodes.Product: 'product doorbell "Doorbell" { code 0x1234  prefix db  revision 1 }',
    nodes.Chip: "chip { size 1024 bytes  page 1 byte  endurance 100_000 writes }",
    nodes.Holds: "holds { identity 2 copies  presets 4 slots spare 1  state 4 copies }",
}


@dataclass(frozen=True, slots=True)
class Blocks:
    """The blocks of a file in reading order. Those that stand once are None where they are missing."""

    product: nodes.Product | None
    chip: nodes.Chip | None
    holds: nodes.Holds | None
    panels: tuple[nodes.Panel, ...]
    items: tuple[nodes.Item, ...]
    modes: tuple[nodes.Mode, ...]
    taps: tuple[nodes.Tap, ...]
    midis: tuple[nodes.Midi, ...]
    presets: tuple[nodes.Preset, ...]
    promises: tuple[nodes.Promise, ...]
    retired: tuple[nodes.Retired, ...]
    accepts: tuple[nodes.Accept, ...]

    @property
    def keeps_once(self) -> bool:
        """Whether anything is kept once, a learned pedal's ends among it, and so needs a setup."""
        return any(isinstance(line, nodes.KeptOnce) for item in self.items for line in item.lines) or any(
            group.kind.text == "pedal" and isinstance(line, nodes.Learned)
            for panel in self.panels
            for group in panel.controls
            for line in group.lines
        )

    @property
    def measures(self) -> bool:
        """Whether anything is measured on each unit, and so needs a bench."""
        return any(item.kind.text == "trim" for item in self.items) or any(
            isinstance(line, nodes.Measured)
            for panel in self.panels
            for group in panel.controls
            for line in group.lines
        )


def sort_blocks(module: nodes.Module, found: list[Diagnostic]) -> Blocks:
    """The blocks by kind; a stop for each one too many."""
    first: dict[type[nodes.Node], nodes.Node] = {}
    for block in module.blocks:
        before = first.setdefault(type(block), block)
        if before is not block and isinstance(block, _ONCE):
            word = word_of(type(block))
            found.append(said_twice(f"There is a second {word} block.", block, before))
    return Blocks(
        product=next(iter(_all(module, nodes.Product)), None),
        chip=next(iter(_all(module, nodes.Chip)), None),
        holds=next(iter(_all(module, nodes.Holds)), None),
        panels=_all(module, nodes.Panel),
        items=_all(module, nodes.Item),
        modes=_all(module, nodes.Mode),
        taps=_all(module, nodes.Tap),
        midis=_all(module, nodes.Midi),
        presets=_all(module, nodes.Preset),
        promises=_all(module, nodes.Promise),
        retired=_all(module, nodes.Retired),
        accepts=_all(module, nodes.Accept),
    )


def check_needed(module: nodes.Module, found: list[Diagnostic]) -> None:
    """A stop for each block that every product needs and that this file lacks."""
    present = {type(block) for block in module.blocks}
    place = keyword(module.blocks[0]) if module.blocks else module.span
    for kind, write in _WRITE.items():
        if kind not in present:
            sentence = f"The file has no {word_of(kind)} block."
            found.append(Diagnostic(UNSAID, sentence, place, try_=write))


def _all(module: nodes.Module, kind: type[N]) -> tuple[N, ...]:
    return tuple(block for block in module.blocks if isinstance(block, kind))
