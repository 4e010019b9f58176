"""The mode blocks: what each control sets and shows, and how a mode is entered and left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from paramc.check import bounds
from paramc.check.gestures import check_gestures, read_does, read_gesture
from paramc.check.known import Declared, Known
from paramc.check.mode_rules import (
    CONTROL_KIND,
    CONTROL_TWICE,
    ITEM_KIND,
    NOT_ENTERED,
    ONE_ITEM,
    POSITIONS_DIFFER,
    TRIM_IN_REACH,
)
from paramc.check.names import mode_called
from paramc.check.notes import read_notes
from paramc.check.pedals import check_learned, not_a_pedal, read_targets
from paramc.check.statement_rules import OUT_OF_BOUNDS
from paramc.check.statements import read_statements
from paramc.check.words import capital, counted
from paramc.frozen import dataclass
from paramc.model.items import Item, Selector
from paramc.model.modes import ExpressionTargets, LampWord, Mode, Sets, Shows
from paramc.model.panel import Control, Knob, Pedal, Switch
from paramc.numbers.units import SPELLINGS, Dimension
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

SETTABLE: Mapping[str, frozenset[str]] = {
    "knob": frozenset({"param", "selector", "flag", "trim"}),
    "toggle": frozenset({"selector", "flag"}),
    "rotary": frozenset({"selector", "flag"}),
}
"""Which kinds of item a kind of control can set; what pedals set is read elsewhere."""

SHORTEST_LEAVE, LONGEST_LEAVE = Fraction(1), Fraction(3600)

_SEVERAL = (nodes.Sets, nodes.Shows, nodes.Does, nodes.Caution, nodes.Warning, nodes.Danger, nodes.Help)


@dataclass(frozen=True, slots=True)
class _Around:
    """What the modes of a file speak of. switches and items: those that could be made, by name."""

    known: Known
    switches: Mapping[str, Switch]
    items: Mapping[str, Item]


def read_modes(
    blocks: Sequence[nodes.Mode],
    known: Known,
    panel: Sequence[Control],
    items: Sequence[Item],
    found: list[Diagnostic],
) -> tuple[Mode, ...]:
    """The modes in reading order, without the statements in which something is wrong.

    panel and items are the ones that could be made; known has the others too.
    """
    # Of two with one name the first counts, as in known.
    switches = {control.name: control for control in reversed(panel) if isinstance(control, Switch)}
    around = _Around(known, switches, {item.name: item for item in reversed(items)})
    modes = []
    sound = []
    for block in blocks:
        mode = _mode(block, around, found)
        modes.append(mode)
        if _enter(block) is None or mode.enter is not None:
            sound.append((mode, mode_called(block)))
    check_gestures(sound, found)
    check_learned(blocks, [control for control in panel if isinstance(control, Pedal)], found)
    always = [block for block in blocks if _enter(block) is None]
    _check_once(always, found)
    for block in blocks:
        if block not in always:
            _check_once([block], found)
    return tuple(modes)


def knob_turns(blocks: Iterable[nodes.Mode], panel: Iterable[Control]) -> Mapping[str, Fraction]:
    """For each item that knobs set, the turn in degrees of the first that does, in reading order."""
    turns = {control.name: control.turn for control in panel if isinstance(control, Knob)}
    first: dict[str, Fraction] = {}
    for block in blocks:
        for line in block.lines:
            if isinstance(line, nodes.Sets) and line.control.text in turns:
                for item in line.items:
                    first.setdefault(item.text, turns[line.control.text])
    return first


def _enter(block: nodes.Mode) -> nodes.Enter | None:
    return next((line for line in block.lines if isinstance(line, nodes.Enter)), None)


def _mode(block: nodes.Mode, around: _Around, found: list[Diagnostic]) -> Mode:
    owner = mode_called(block)
    said = read_statements(block.lines, owner, block.name.span, found, _SEVERAL)
    enter, leave, hidden = said.get(nodes.Enter), said.get(nodes.Leave), said.get(nodes.Hidden)
    if enter is None:
        for line, verb in ((hidden, "is hidden"), (leave, "says how it is left")):
            if line is not None:
                sentence = f"{capital(owner)} {verb}, and without enter it is always there."
                found.append(Diagnostic(NOT_ENTERED, sentence, line.span))
    ways = leave.ways if leave else ()
    way_out = next((way for way in ways if not isinstance(way, nodes.After)), None)
    idle = next((way for way in ways if isinstance(way, nodes.After)), None)
    sets: list[Sets | ExpressionTargets] = []
    shows, does = [], []
    for node in block.lines:
        match node:
            case nodes.Sets() if (one := _sets(node, enter, owner, around, found)) is not None:
                sets.append(one)
            case nodes.Shows() if (shown := _shows(node, owner, around.known, found)) is not None:
                shows.append(shown)
            case nodes.Does() if (deed := read_does(node, owner, around.known, found)) is not None:
                does.append(deed)
            case _:
                pass
    return Mode(
        name=block.name.text,
        label=block.label.value if block.label else None,
        hidden=hidden is not None,
        enter=read_gesture(enter.gesture, owner, around.known, found) if enter else None,
        leave=read_gesture(way_out, owner, around.known, found) if way_out else None,
        leave_after=_idle(idle, owner, found),
        shows=tuple(shows),
        sets=tuple(one for one in sets if isinstance(one, Sets)),
        does=tuple(does),
        notes=read_notes(block.lines),
        expressions=tuple(one for one in sets if isinstance(one, ExpressionTargets)),
        place=block.name.span,
    )


def _idle(after: nodes.After | None, owner: str, found: list[Diagnostic]) -> Fraction | None:
    if after is None:
        return None
    what = f"time after which {owner} is left"
    return bounds.measure_within(after.time, what, SHORTEST_LEAVE, LONGEST_LEAVE, SPELLINGS["s"], found)


def _sets(
    node: nodes.Sets, enter: nodes.Enter | None, owner: str, around: _Around, found: list[Diagnostic]
) -> Sets | ExpressionTargets | None:
    """A control and what it sets; None where something is wrong with one of them."""
    control = around.known.control(node.control, owner, found)
    if control is not None and control.kind == "pedal":
        return read_targets(node, control, owner, around.known, around.items, found)
    items = [around.known.item(name, owner, found) for name in node.items]
    if control is None or not_a_pedal(node, control, owner, found):
        return None
    if control.kind not in SETTABLE:
        sentence = f"{capital(owner)} sets items by {control}, which has no position to set them by."
        found.append(Diagnostic(CONTROL_KIND, sentence, node.control.span, (Mark(control.place),)))
        return None
    if len(items) > 1:
        sentence = f"{capital(owner)} sets {counted(len(items), 'item')} by {control}."
        try_ = f"{node.control.text} sets {node.items[0].text}"
        found.append(Diagnostic(ONE_ITEM, sentence, node.span, try_=try_))
        return None
    item, name = items[0], node.items[0]
    if item is None:
        return None
    if item.kind not in SETTABLE[control.kind]:
        sentence = f"{capital(owner)} sets {item} by {control}, whose positions are no values of it."
        also = (Mark(item.place), Mark(control.place))
        found.append(Diagnostic(ITEM_KIND, sentence, name.span, also))
        return None
    if item.kind == "trim" and not (enter and isinstance(enter.gesture, nodes.Jumper)):
        sentence = f"{capital(owner)} sets {item}, and feet alone can reach it."
        way_in = () if enter is None else (Mark(enter.span, "its way in"),)
        found.append(Diagnostic(TRIM_IN_REACH, sentence, node.span, way_in, try_='enter jumper "JP1"'))
    _check_positions(node, control, item, around, found)
    return Sets(node.control.text, name.text, node.span)


def _check_positions(
    node: nodes.Sets, control: Declared, item: Declared, around: _Around, found: list[Diagnostic]
) -> None:
    """As many positions of a switch as ways of its selector, or two for a flag."""
    switch, made = around.switches.get(node.control.text), around.items.get(node.items[0].text)
    if switch is None or made is None or switch.positions == made.codes:
        return
    ways = counted(made.codes, "way") if isinstance(made, Selector) else "off and on"
    sentence = f"{capital(str(control))} has {switch.positions} positions, and {item} has {ways}."
    also = (Mark(control.place), Mark(item.place))
    found.append(Diagnostic(POSITIONS_DIFFER, sentence, node.span, also))


def _shows(node: nodes.Shows, owner: str, known: Known, found: list[Diagnostic]) -> Shows | None:
    lamp = known.control(node.control, owner, found)
    if lamp is not None and lamp.kind != "lamp":
        sentence = f"{capital(owner)} shows something on {lamp}, which is no lamp."
        found.append(Diagnostic(CONTROL_KIND, sentence, node.control.span, (Mark(lamp.place),)))
        return None
    state = node.state.state
    word = LampWord(state.text) if isinstance(state, nodes.Word) else None
    rate = _rate(state, owner, found) if isinstance(state, nodes.Blinks) else None
    if lamp is None or (word is None and rate is None):
        return None
    return Shows(node.control.text, word, rate, node.label.value if node.label else None, node.span)


def _rate(blinks: nodes.Blinks, owner: str, found: list[Diagnostic]) -> Fraction | None:
    hertz = bounds.measure(blinks.rate, f"blink rate of a lamp in {owner}", Dimension.FREQUENCY, found)
    if hertz is not None and hertz <= 0:
        sentence = f"The blink rate of a lamp in {owner}, {blinks.rate.amount}, is not above zero."
        found.append(Diagnostic(OUT_OF_BOUNDS, sentence, blinks.rate.span))
        return None
    return hertz


def _check_once(blocks: Sequence[nodes.Mode], found: list[Diagnostic]) -> None:
    """No control twice in modes that are there at the same time."""
    first: dict[str, nodes.Sets | nodes.Shows] = {}
    for block in blocks:
        for line in block.lines:
            if not isinstance(line, nodes.Sets | nodes.Shows):
                continue
            before = first.setdefault(line.control.text, line)
            if before is not line:
                verb = "sets something by" if isinstance(line, nodes.Sets) else "shows something on"
                sentence = f"{capital(mode_called(block))} {verb} {line.control.text} a second time."
                also = (Mark(before.span, "its first use"),)
                found.append(Diagnostic(CONTROL_TWICE, sentence, line.span, also))
