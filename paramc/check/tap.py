"""The tap block: which switch, which time, how many taps, and what becomes of a time that is too long."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Final

from paramc.check import bounds
from paramc.check.known import Known
from paramc.check.mode_rules import CONTROL_KIND, GESTURE_TWICE, ITEM_KIND
from paramc.check.statements import read_statements, said_twice
from paramc.check.tap_rules import TAP_RATIOS, TAP_TIME, TAPS_FROM
from paramc.check.words import capital
from paramc.model.items import Item, Param, Selector
from paramc.model.modes import Mode, Press
from paramc.model.scale import whole_numbers
from paramc.model.tap import Fold, Tap
from paramc.numbers.units import SPELLINGS, Dimension
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

FEWEST_TAPS, MOST_TAPS = 2, 16
SHORTEST_GAP, LONGEST_GAP = Fraction(1, 10), Fraction(30)

_OWNER: Final = "the tap block"


def read_tap(
    blocks: Sequence[nodes.Tap], known: Known, items: Iterable[Item], found: list[Diagnostic]
) -> Tap | None:
    """The tap block; None where there is none, or where something is wrong in it."""
    if not blocks:
        return None
    block, *more = blocks
    for again in more:
        found.append(said_twice("There is a second tap block.", again, block))
    made = {item.name: item for item in items}
    told: list[Diagnostic] = []
    control = known.control(block.control, _OWNER, told)
    if control is not None and control.kind != "footswitch":
        sentence = f"{capital(_OWNER)} counts taps of {control}, which is no footswitch."
        told.append(Diagnostic(CONTROL_KIND, sentence, block.control.span, (Mark(control.place),)))
    _check_time(block, known, made, told)
    _check_ratios(block, known, made, told)
    said = read_statements(block.lines, _OWNER, block.control.span, told)
    taps, taps_from = _taps(said.need(nodes.Taps, "taps 3", told), known, made, told)
    gap_line, fold = said.need(nodes.Gap, "gap 2 s", told), said.need(nodes.Fold, "fold halve", told)
    gap = None
    if gap_line is not None:
        what = f"gap of {_OWNER}"
        gap = bounds.measure_within(gap_line.time, what, SHORTEST_GAP, LONGEST_GAP, SPELLINGS["s"], told)
    found.extend(told)
    if told or taps is None or gap is None or fold is None:
        return None
    return Tap(
        control=block.control.text,
        item=block.item.text,
        chooser=block.chooser.text if block.chooser else None,
        taps=taps,
        taps_from=taps_from,
        gap=gap,
        fold=Fold(fold.how.text),
        place=block.control.span,
    )


def _check_time(
    block: nodes.Tap, known: Known, made: Mapping[str, Item], found: list[Diagnostic]
) -> None:
    item = known.item(block.item, _OWNER, found)
    if item is None:
        return
    if item.kind != "param":
        sentence = f"{capital(_OWNER)} sets {item}, which is no param."
        found.append(Diagnostic(ITEM_KIND, sentence, block.item.span, (Mark(item.place),)))
        return
    param = made.get(block.item.text)
    if isinstance(param, Param) and (
        param.scale.unit.dimension is not Dimension.TIME or param.scale.low <= 0 or param.scale.off_at_stop
    ):
        sentence = f"{capital(_OWNER)} sets {item}, whose range is not of times above zero."
        found.append(Diagnostic(TAP_TIME, sentence, block.item.span, (Mark(item.place),)))


def _check_ratios(
    block: nodes.Tap, known: Known, made: Mapping[str, Item], found: list[Diagnostic]
) -> None:
    if block.chooser is None:
        return
    item = known.item(block.chooser, _OWNER, found)
    if item is None:
        return
    if item.kind != "selector":
        sentence = f"{capital(_OWNER)} takes its subdivisions from {item}, which is no selector."
        found.append(Diagnostic(ITEM_KIND, sentence, block.chooser.span, (Mark(item.place),)))
        return
    selector = made.get(block.chooser.text)
    if isinstance(selector, Selector) and not all(
        way.number is not None and way.number.dimension is Dimension.COUNT and way.number.number > 0
        for way in selector.ways
    ):
        sentence = f"The tap block takes subdivisions from {item}, whose ways are not all parts of a beat."
        found.append(Diagnostic(TAP_RATIOS, sentence, block.chooser.span, (Mark(item.place),)))


def _taps(
    line: nodes.Taps | None, known: Known, made: Mapping[str, Item], found: list[Diagnostic]
) -> tuple[int | None, str | None]:
    """How many taps count at most, and the param that says so."""
    if line is None:
        return None, None
    if isinstance(line.count, nodes.Integer):
        what = f"number of taps of {_OWNER}"
        return bounds.whole(line.count, what, FEWEST_TAPS, MOST_TAPS, found), None
    item = known.item(line.count, _OWNER, found)
    if item is None:
        return None, None
    name = line.count.text
    if item.kind != "param":
        sentence = f"{capital(_OWNER)} counts as many taps as {item} says, which is no param."
        found.append(Diagnostic(ITEM_KIND, sentence, line.count.span, (Mark(item.place),)))
        return None, None
    param = made.get(name)
    if not isinstance(param, Param):
        return None, None
    most = whole_numbers(param.scale, FEWEST_TAPS, MOST_TAPS)
    if most is None:
        sentence = f"{capital(_OWNER)} counts as many taps as {item} says, which does not count 2 to 16."
        found.append(Diagnostic(TAPS_FROM, sentence, line.count.span, (Mark(item.place),)))
        return None, None
    return most, name


def check_tap_press(tap: Tap | None, modes: Iterable[Mode], found: list[Diagnostic]) -> None:
    """A press of the switch that is tapped means nothing else where taps count."""
    if tap is None:
        return
    for mode in modes:
        for does in mode.does if mode.open else ():
            if does.gesture == Press(tap.control):
                sentence = f"A press of {tap.control} is a tap, and does something else besides."
                also = () if tap.place is None else (Mark(tap.place, "its other meaning"),)
                found.append(Diagnostic(GESTURE_TWICE, sentence, does.gesture.place, also))
