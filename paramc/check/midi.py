"""The midi block: channel, controllers and programs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final, assert_never

from paramc.check import bounds
from paramc.check.known import Known
from paramc.check.midi_rules import CC_FINE, CC_RESERVED, CC_TWICE, MIDI_CHANNEL, PROGRAM_OUTSIDE_SLOTS
from paramc.check.mode_rules import ITEM_KIND
from paramc.check.statements import Statements, read_statements, said_twice
from paramc.check.words import capital, listed
from paramc.model.items import Item, Param
from paramc.model.midi import EVERY_CHANNEL, FINE_OFFSET, Cc, Midi, Program
from paramc.model.scale import whole_numbers
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

LAST_CHANNEL, LAST_CC, LAST_PROGRAM = 16, 127, 128
FIRST_RESERVED_CC: Final = 120
"""MIDI 1.0 detailed specification, channel mode messages: 120 to 127 are no controllers."""

_OWNER: Final = "the midi block"
_SETTABLE = frozenset({"param", "selector", "flag"})


def read_midi(
    blocks: Sequence[nodes.Midi], known: Known, items: Iterable[Item], slots: int, found: list[Diagnostic]
) -> Midi | None:
    """The midi block; None where there is none, or where something is wrong in it."""
    if not blocks:
        return None
    block, *more = blocks
    for again in more:
        found.append(said_twice("There is a second midi block.", again, block))
    made = {item.name: item for item in items}
    told: list[Diagnostic] = []
    said = read_statements(block.lines, _OWNER, block.span, told, several=(nodes.Cc,))
    channel, channel_from = _channel(said, known, made, told)
    ccs = [_cc(line, known, told) for line in block.lines if isinstance(line, nodes.Cc)]
    made_ccs = tuple(cc for cc in ccs if cc is not None)
    _check_once(made_ccs, told)
    program = _program(said.get(nodes.Program), slots, told)
    found.extend(told)
    return None if told else Midi(channel, channel_from, made_ccs, program, block.span)


def _channel(
    said: Statements, known: Known, made: Mapping[str, Item], found: list[Diagnostic]
) -> tuple[int, str | None]:
    line = said.need(nodes.Channel, "channel 1", found)
    match line.value if line is not None else None:
        case None | nodes.Every():
            return EVERY_CHANNEL, None
        case nodes.Integer() as number:
            channel = bounds.whole(number, f"channel of {_OWNER}", 1, LAST_CHANNEL, found, try_="channel {}")
            return channel or EVERY_CHANNEL, None
        case nodes.Name(text=text) as name:
            item = known.item(name, _OWNER, found)
            param = made.get(text)
            scale = param.scale if isinstance(param, Param) else None
            wrong = scale is not None and whole_numbers(scale, EVERY_CHANNEL, LAST_CHANNEL) is None
            if item is not None and (item.kind != "param" or wrong):
                sentence = (
                    f"{capital(_OWNER)} takes its channel from {item}, which does not count 0 to 16."
                )
                found.append(Diagnostic(MIDI_CHANNEL, sentence, name.span, (Mark(item.place),)))
            return EVERY_CHANNEL, text
        case other:
            assert_never(other)


def _cc(line: nodes.Cc, known: Known, found: list[Diagnostic]) -> Cc | None:
    number = bounds.whole(line.number, f"controller of {_OWNER}", 0, LAST_CC, found)
    item = known.item(line.item, _OWNER, found)
    if item is not None and item.kind not in _SETTABLE:
        sentence = f"{capital(_OWNER)} sets {item}, which belongs to the bench."
        found.append(Diagnostic(ITEM_KIND, sentence, line.item.span, (Mark(item.place),)))
        return None
    if number is None or item is None:
        return None
    if number >= FIRST_RESERVED_CC:
        sentence = f"Controller {number} sets {item}, and 120 to 127 are no controllers."
        found.append(Diagnostic(CC_RESERVED, sentence, line.number.span))
        return None
    if line.fine is not None and number >= FINE_OFFSET:
        sentence = f"Controller {number} is fine, and there is none {FINE_OFFSET} above for its lower bits."
        try_ = f"Take a number from 0 to {FINE_OFFSET - 1}, or leave fine out."
        found.append(Diagnostic(CC_FINE, sentence, line.span, try_=try_))
        return None
    return Cc(number, line.item.text, line.fine is not None, line.number.span)


def _check_once(ccs: Iterable[Cc], found: list[Diagnostic]) -> None:
    """No controller for two items, no item for two controllers."""
    first: dict[int | str, Cc] = {}
    for cc in ccs:
        keys: tuple[int | str, ...] = (*cc.numbers, cc.item)
        met = next((first[key] for key in keys if key in first), None)
        if met is None:
            first.update(dict.fromkeys(keys, cc))
            continue
        shared = sorted(set(cc.numbers) & set(met.numbers))
        sentence = (
            f"Controller {listed(str(number) for number in shared)} sets {met.item} and also {cc.item}."
            if shared and met.item != cc.item
            else f"The item {cc.item} is set by controller {met.number} and also by {cc.number}."
        )
        also = () if met.place is None else (Mark(met.place, "its first use"),)
        found.append(Diagnostic(CC_TWICE, sentence, cc.place, also))


def _program(line: nodes.Program | None, slots: int, found: list[Diagnostic]) -> Program | None:
    if line is None:
        return None
    what = f"program of {_OWNER}"
    ends = [bounds.whole(end, what, 1, LAST_PROGRAM, found) for end in (line.first, line.last)]
    first, last = ends
    if first is None or last is None:
        return None
    if last < first or last - first + 1 > slots:
        sentence = f"The programs {first} to {last} call presets, and the presets are 1 to {slots}."
        highest = min(first + slots - 1, LAST_PROGRAM)
        try_ = f"program {first} .. {highest} sets preset"
        found.append(Diagnostic(PROGRAM_OUTSIDE_SLOTS, sentence, line.span, try_=try_))
        return None
    return Program(first, last, line.span)
