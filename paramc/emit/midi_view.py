"""The MIDI map and travel in 14 bits as C."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from paramc.emit.constants import Constants, unsigned
from paramc.emit.escape import c_comment, comment_lines
from paramc.emit.layout_rows import Rows
from paramc.emit.looked_up import looked_up
from paramc.frozen import dataclass
from paramc.model.items import Flag, Item, Param, Selector, Trim
from paramc.model.midi import FINE_OFFSET, Cc
from paramc.model.product import Product
from paramc.model.readings import codes_of_readings
from paramc.numbers.real import nearest

COARSE_BITS, FINE_BITS = 7, 14


@dataclass(frozen=True, slots=True)
class ControlChange:
    """A controller. code: the expression of its value k, for a coarse one. place: among the fine ones."""

    number: str
    low: str
    item: str
    name: str
    comment: str
    code: str
    place: str
    is_fine: bool


@dataclass(frozen=True, slots=True)
class FineView:
    """An item along 16384 values of travel. Its codes in order have places; edge: the least value of place
    k; code: the code at place k; place: the place of code k."""

    name: str
    places: str
    codes: str
    edge: str
    code: str
    place: str
    sent: bool


@dataclass(frozen=True, slots=True)
class MidiView:
    """The map, which has_map says there is. sent: the controllers that items are sent on, one an item."""

    coarse: tuple[ControlChange, ...]
    fine: tuple[ControlChange, ...]
    sent: tuple[ControlChange, ...]
    rows: tuple[str, ...]
    has_map: bool
    has_controllers: bool
    has_coarse: bool
    has_fine: bool
    fines: str
    from_item: bool
    channel: str
    channel_code: str
    programs: bool
    program_text: str
    program_test: str
    slot_of_program: str
    slot_test: str
    program_of_slot: str


def no_midi() -> MidiView:
    """The view of a product without MIDI."""
    nothing = (False, False, False, False, "0u", False, "0u", "0u", False, "", "0", "0u", "0", "0u")
    return MidiView((), (), (), (), *nothing)


def codes_by_value(item: Item, bits: int) -> tuple[int, ...]:
    """The code for each value of a controller of so many bits: the middle one is noon, the last the end.

    Below the middle the value is that share of 2^bits of travel, above it the rest of the values divide
    the rest of travel. A scale gives the nearest code, a selector or flag equal zones, a border
    belonging to the upper one. Neither flat nor a potentiometer's own law comes in.
    """
    middle = 1 << bits - 1
    below, above = 2 * middle, 2 * middle - 2
    match item:
        case Param() | Trim():
            lower = codes_of_readings(item.scale, below)
            upper = codes_of_readings(item.scale, above)
            return (*lower[: middle + 1], *upper[middle:])
        case Selector() | Flag():
            zones = item.places if isinstance(item, Selector) else tuple(range(item.codes))
            count = len(zones)
            lower = tuple(zones[v * count // below] for v in range(middle + 1))
            upper = tuple(zones[min((v - 1) * count // above, count - 1)] for v in range(middle + 1, below))
            return (*lower, *upper)
        case other:
            assert_never(other)


def fine_of(item: Item, prefix: str, sent: bool) -> tuple[FineView, tuple[Constants, ...]]:
    """An item along 14 bits of travel, and what that reads."""
    order = item.places if isinstance(item, Selector) else tuple(range(item.codes))
    edges = _edges(codes_by_value(item, FINE_BITS), order)
    places = [order.index(code if code in order else item.default) for code in range(item.codes)]
    label = c_comment(item.label)
    edge = looked_up(edges, prefix, f"edges_{item.name}", f"least values of the codes of {label}")
    code = looked_up(order, prefix, f"order_{item.name}", f"codes of {label} in order")
    place = looked_up(places, prefix, f"places_{item.name}", f"places of the codes of {label}")
    view = FineView(
        name=item.name,
        places=unsigned(len(order)),
        codes=unsigned(item.codes),
        edge=edge.expression,
        code=code.expression,
        place=place.expression,
        sent=sent,
    )
    return view, (*edge.constants, *code.constants, *(place.constants if sent else ()))


def _edges(along: Sequence[int], order: Sequence[int]) -> list[int]:
    """The least value whose code is at least each code of the order; one past the values where none is."""
    edges = []
    value = 0
    for code in order:
        while value < len(along) and along[value] < code:
            value += 1
        edges.append(value)
    return edges


def midi_of(product: Product, rows: Rows) -> tuple[MidiView, tuple[Constants, ...]]:
    """The map of a product that has one, and what it reads."""
    midi = product.midi
    assert midi is not None
    constants: list[Constants] = []
    coarse: list[ControlChange] = []
    fine: list[ControlChange] = []
    for cc in midi.ccs:
        if cc.fine:
            fine.append(_control(product, rows, cc, "0u", len(fine)))
        else:
            item = product.item(cc.item)
            made = looked_up(
                codes_by_value(item, COARSE_BITS), product.prefix, f"values_of_cc_{cc.number}",
                c_comment(f"codes of {item.label}, one a value"),
            )  # fmt: skip
            constants += made.constants
            coarse.append(_control(product, rows, cc, made.expression, 0))
    channel, code = unsigned(midi.channel), "0u"
    if midi.channel_from is not None:
        setting = product.item(midi.channel_from)
        assert isinstance(setting, Param)
        numbers = [nearest(setting.scale.value(k)) for k in range(setting.codes)]
        said = looked_up(numbers, product.prefix, f"channels_of_{setting.name}", c_comment(setting.label))
        constants += said.constants
        channel, code = said.expression, f"look->{setting.name}"
    changes = {change.number: change for change in (*coarse, *fine)}
    sent: dict[str, ControlChange] = {}
    for cc in midi.ccs:
        sent.setdefault(cc.item, changes[str(cc.number)])
    program = midi.program
    presets = 0 if program is None else min(program.presets, product.holds.preset_slots)
    first = 0 if program is None else program.first - 1
    view = MidiView(
        coarse=tuple(coarse),
        fine=tuple(fine),
        sent=tuple(sent.values()),
        rows=tuple(line for cc in midi.ccs for line in comment_lines(_row_text(product, cc), "  ")),
        has_map=bool(midi.ccs or presets),
        has_controllers=bool(midi.ccs),
        has_coarse=bool(coarse),
        has_fine=bool(fine),
        fines=unsigned(len(fine)),
        from_item=midi.channel_from is not None,
        channel=channel,
        channel_code=code,
        programs=bool(presets),
        program_text=f"Programs {first + 1} to {first + presets}, sent as {first} to {first + presets - 1},"
        f" call presets 1 to {presets}.",
        # A comparison with zero would always hold, and compilers say so.
        program_test=_between("first", first, first + presets - 1) if presets else "",
        slot_of_program=f"(uint8_t)(first - {unsigned(first)})" if first else "first",
        slot_test=f"slot < {unsigned(presets)}",
        program_of_slot=f"(uint8_t)(slot + {unsigned(first)})" if first else "slot",
    )
    return view, tuple(constants)


def _between(name: str, low: int, high: int) -> str:
    upper = f"({name} <= {unsigned(high)})"
    return f"(({name} >= {unsigned(low)}) && {upper})" if low else upper


def _row_text(product: Product, cc: Cc) -> str:
    number = f"{cc.number} and {cc.number + FINE_OFFSET}" if cc.fine else str(cc.number)
    return f"Controller {number}: {product.item(cc.item).label}."


def _control(product: Product, rows: Rows, cc: Cc, code: str, place: int) -> ControlChange:
    return ControlChange(
        number=str(cc.number),
        low=str(cc.number + FINE_OFFSET),
        item=unsigned(rows.number(cc.item)),
        name=cc.item,
        comment=c_comment(product.item(cc.item).label),
        code=code,
        place=unsigned(place),
        is_fine=cc.fine,
    )
