"""The panel blocks: knobs, toggles, rotaries, footswitches and lamps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from paramc.check import bounds
from paramc.check.panel_rules import ENDS_EQUAL, ENDS_OUTSIDE_ADC, NOISE_TOO_WIDE, UNPLUGGED_IN_REACH
from paramc.check.statement_rules import MISPLACED, UNSAID
from paramc.check.statements import Statements, placed, read_statements
from paramc.check.tapers import read_pot
from paramc.check.words import called, capital, counted
from paramc.model.laws import Straight
from paramc.model.panel import (
    CLOCK_DEGREES,
    Control,
    Footswitch,
    Knob,
    Lamp,
    Pedal,
    Recall,
    Switch,
    SwitchKind,
)
from paramc.numbers.units import SPELLINGS
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

_READ: frozenset[type[nodes.Node]] = frozenset({nodes.Adc, nodes.Ends, nodes.Noise, nodes.Pot})
_OF_KNOB: frozenset[type[nodes.Node]] = frozenset({nodes.Measured, nodes.Turn, nodes.AfterRecall})
_OF_PEDAL: frozenset[type[nodes.Node]] = frozenset({nodes.Learned, nodes.Unplugged})

LINES: Mapping[str, frozenset[type[nodes.Node]]] = {
    "knob": _READ | _OF_KNOB,
    "pedal": _READ | _OF_PEDAL,
    "toggle": frozenset(),
    "rotary": frozenset(),
    "footswitch": frozenset(),
    "lamp": frozenset(),
}
"""Which line goes with which kind of control."""

_WHERE: Mapping[type[nodes.Node], tuple[str, ...]] = {
    **{line: ("knobs", "pedals") for line in _READ},
    **{line: ("knobs",) for line in _OF_KNOB},
    **{line: ("pedals",) for line in _OF_PEDAL},
}

POSITIONS = {"toggle": (2, 3), "rotary": (2, 24)}
TOGGLE_POSITIONS = 2

LEAST_ADC_BITS, MOST_ADC_BITS = 8, 16
LEAST_TURN, MOST_TURN = Fraction(30), Fraction(330)
END_ZONE = Fraction(15, 1000)
"""The share of the converter's range by which a pot stops short at each end where nothing is said."""


def read_panel(blocks: Iterable[nodes.Panel], found: list[Diagnostic]) -> tuple[Control, ...]:
    """The controls that could be made, in reading order. Of two with one name both are kept."""
    return tuple(
        control for block in blocks for group in block.controls for control in _controls(group, found)
    )


def default_ends(adc_bits: int) -> tuple[int, int]:
    """1.5 % short of the converter's range at each end, to the nearest count, ties to even."""
    top = (1 << adc_bits) - 1
    short = round(top * END_ZONE)
    return short, top - short


def _controls(group: nodes.Controls, found: list[Diagnostic]) -> list[Control]:
    kind = group.kind.text
    owner = called(kind, group.parts[0].label.value)
    place = group.parts[0].control.span
    lines = placed(group.lines, LINES[kind], owner, _WHERE, found)
    said = read_statements(lines, owner, place, found)
    positions = _positions(group, owner, found)
    match kind:
        case "knob":
            return _knobs(group.parts, said, found)
        case "pedal":
            return _pedals(group.parts, said, found)
        case "toggle" | "rotary" if positions is not None:
            return [
                Switch(part.control.text, part.label.value, SwitchKind(kind), positions, part.control.span)
                for part in group.parts
            ]
        case "footswitch":
            return [
                Footswitch(part.control.text, part.label.value, part.control.span) for part in group.parts
            ]
        case "lamp":
            return [Lamp(part.control.text, part.label.value, part.control.span) for part in group.parts]
        case _:
            return []


def _positions(group: nodes.Controls, owner: str, found: list[Diagnostic]) -> int | None:
    """How many positions a toggle or rotary has; None for others, and where the number is wrong."""
    kind, said = group.kind.text, group.positions
    if kind not in POSITIONS:
        if said is not None:
            sentence = f"{capital(owner)} has no use for positions; it belongs to toggles and rotaries."
            found.append(Diagnostic(MISPLACED, sentence, said.span))
        return None
    if said is not None:
        return bounds.whole(said.count, f"number of positions of {owner}", *POSITIONS[kind], found)
    if kind == "toggle":
        return TOGGLE_POSITIONS
    last = group.parts[-1]
    sentence = f"{capital(owner)} does not say its positions."
    try_ = f"rotary {last.control.text} {last.label.span.text} 5 positions"
    found.append(Diagnostic(UNSAID, sentence, group.parts[0].control.span, try_=try_))
    return None


def _bits(said: Statements, found: list[Diagnostic]) -> int | None:
    adc = said.need(nodes.Adc, "adc 10 bits", found)
    what = f"ADC width of {said.owner}"
    return bounds.whole(adc.bits, what, LEAST_ADC_BITS, MOST_ADC_BITS, found, "bit") if adc else None


def _pedals(parts: tuple[nodes.Part, ...], said: Statements, found: list[Diagnostic]) -> list[Control]:
    """One pedal for each part; what is wrong with lines that they share is told once."""
    bits = _bits(said, found)
    if bits is None:
        return []
    ends = _ends(said.get(nodes.Ends), bits, said.owner, found)
    noise = _noise(said.get(nodes.Noise), ends, said.owner, found)
    unplugged = _unplugged(said.get(nodes.Unplugged), bits, ends, said, found)
    return [
        Pedal(
            part.control.text,
            part.label.value,
            adc_bits=bits,
            ends=ends,
            learned=said.get(nodes.Learned) is not None,
            unplugged=unplugged,
            noise=noise,
            place=part.control.span,
        )
        for part in parts
    ]


def _unplugged(
    line: nodes.Unplugged | None, bits: int, ends: tuple[int, int], said: Statements, found: list[Diagnostic]
) -> tuple[int, int] | None:
    """The lowest and highest count of an empty socket, clear of where the pedal goes."""
    if line is None:
        return None
    top = (1 << bits) - 1
    for end in (line.first, line.last):
        if end.value > top:
            sentence = (
                f"An end of unplugged of {said.owner}, {end.value}, is outside what {bits} bits can read,"
                f" 0 to {top}."
            )
            found.append(Diagnostic(ENDS_OUTSIDE_ADC, sentence, end.span))
            return None
    low, high = sorted((line.first.value, line.last.value))
    if low <= max(ends) and high >= min(ends):
        sentence = (
            f"{capital(said.owner)} is unplugged from {low} to {high}, and plugged in it reads {min(ends)} to"
            f" {max(ends)}."
        )
        own = said.get(nodes.Ends)
        also = () if own is None else (Mark(own.span, "its ends"),)
        found.append(Diagnostic(UNPLUGGED_IN_REACH, sentence, line.span, also))
        return None
    return low, high


def _knobs(
    parts: tuple[nodes.Part, ...], said: Statements, found: list[Diagnostic]
) -> list[Control]:
    """One knob for each part; what is wrong with lines that they share is told once."""
    bits = _bits(said, found)
    turn = _turn(said.get(nodes.Turn), said.owner, found)
    recall = said.get(nodes.AfterRecall)
    if bits is None:
        return []
    ends = _ends(said.get(nodes.Ends), bits, said.owner, found)
    noise = _noise(said.get(nodes.Noise), ends, said.owner, found)
    pot = said.get(nodes.Pot)
    law = None if pot is None else read_pot(pot, said.owner, found)
    return [
        Knob(
            part.control.text,
            part.label.value,
            adc_bits=bits,
            ends=ends,
            measured=said.get(nodes.Measured) is not None,
            noise=noise,
            turn=turn,
            law=Straight() if law is None else law,
            recall=Recall(recall.how.text) if recall else None,
            place=part.control.span,
        )
        for part in parts
    ]


def _turn(line: nodes.Turn | None, owner: str, found: list[Diagnostic]) -> Fraction:
    if line is None:
        return CLOCK_DEGREES
    degrees = bounds.measure_within(
        line.angle, f"turn of {owner}", LEAST_TURN, MOST_TURN, SPELLINGS["deg"], found
    )
    return CLOCK_DEGREES if degrees is None else degrees


def _ends(line: nodes.Ends | None, bits: int, owner: str, found: list[Diagnostic]) -> tuple[int, int]:
    if line is None:
        return default_ends(bits)
    top = (1 << bits) - 1
    for end in (line.first, line.last):
        if end.value > top:
            sentence = f"An end of {owner}, {end.value}, is outside what {bits} bits can read, 0 to {top}."
            found.append(Diagnostic(ENDS_OUTSIDE_ADC, sentence, end.span))
            return default_ends(bits)
    if line.first.value == line.last.value:
        sentence = f"The ends of {owner} are both {line.first.value}."
        first, last = default_ends(bits)
        found.append(Diagnostic(ENDS_EQUAL, sentence, line.span, try_=f"ends {first} .. {last}"))
        return default_ends(bits)
    return line.first.value, line.last.value


def _noise(
    line: nodes.Noise | None, ends: tuple[int, int], owner: str, found: list[Diagnostic]
) -> int:
    if line is None:
        return 0
    way = abs(ends[1] - ends[0])
    if line.counts.value < way // 2:
        return line.counts.value
    sentence = (
        f"The noise of {owner}, {counted(line.counts.value, 'count')}, is not less than half of the"
        f" {counted(way, 'count')} between its ends."
    )
    found.append(Diagnostic(NOISE_TOO_WIDE, sentence, line.counts.span))
    return 0
