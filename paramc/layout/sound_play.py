"""What a product read from a file must keep of pedals, deeds, taps, MIDI and promises."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from paramc.model.answers import DEEPEST
from paramc.model.expression import depth, names
from paramc.model.items import Flag, Item, Param, Selector, Trim
from paramc.model.midi import Midi
from paramc.model.modes import Bypass, Deed, ExpressionTargets, Flip, Learn, NextPreset, Reset, WhileHeld
from paramc.model.panel import Footswitch, Pedal
from paramc.model.product import Product
from paramc.model.promises import OfExpression, OfItem, Promise
from paramc.model.scale import Scale, whole_numbers
from paramc.model.tap import Tap
from paramc.model.tap_arithmetic import tap_arithmetic
from paramc.numbers.units import Dimension

_MOST_ADC_BITS = 16
_FEWEST_TAPS, _MOST_TAPS = 2, 16
_LAST_CHANNEL, _LAST_CC, _LAST_PROGRAM = 16, 119, 128


def pedal_faults(pedal: Pedal, what: str) -> Iterator[str]:
    """What keeps a pedal from being read."""
    if not 1 <= pedal.adc_bits <= _MOST_ADC_BITS:
        yield f"The converter of {what} has less than 1 or more than {_MOST_ADC_BITS} bits."
        return
    counts = (*pedal.ends, *(pedal.unplugged or ()), pedal.noise)
    if not all(0 <= count <= pedal.top for count in counts):
        yield f"A count of {what} is outside what its converter reads."
    if pedal.ends[0] == pedal.ends[1]:
        yield f"The ends of {what} are equal."
    if pedal.unplugged is not None:
        low, high = pedal.unplugged
        if low > high or (low <= max(pedal.ends) and high >= min(pedal.ends)):
            yield f"The counts of {what} when unplugged are those of when it is not."


def deed_is_sound(deed: Deed, product: Product) -> bool:
    """Whether what a deed is about is there."""
    items = {item.name: item for item in product.items}
    match deed:
        case Flip(flag):
            return isinstance(items.get(flag), Flag)
        case WhileHeld(item):
            return item in items
        case Learn(name):
            return any(pedal.name == name and pedal.learned for pedal in product.pedals)
        case Bypass() | NextPreset() | Reset():
            return True
        case other:
            assert_never(other)


def play_faults(product: Product) -> Iterator[str]:
    """What keeps pedals, taps, MIDI and promises from meaning anything."""
    items = {item.name: item for item in product.items}
    pedals = {pedal.name for pedal in product.pedals}
    for mode in product.modes:
        for targets in mode.expressions:
            if targets.pedal not in pedals:
                yield "A pedal sets something and is not there."
            yield from _targets(targets, items)
    if product.tap is not None:
        yield from _tap(product.tap, product, items)
    if product.midi is not None:
        yield from _midi(product.midi, product, items)
    for promise in product.promises:
        yield from _promise(promise, items)


def _targets(targets: ExpressionTargets, items: dict[str, Item]) -> Iterator[str]:
    if not targets.items or any(isinstance(items.get(name), Trim | None) for name in targets.items):
        yield "A pedal sets an item that is not there, or a trim."
    if targets.chooser is None:
        if len(targets.items) > 1:
            yield "A pedal sets several items, and nothing chooses among them."
    else:
        chooser = items.get(targets.chooser)
        if not isinstance(chooser, Selector) or len(chooser.ways) != len(targets.items):
            yield "What chooses among the items of a pedal is no selector with as many ways."
    if (targets.heel is None) != (targets.toe is None):
        yield "A pedal has a heel and no toe, or a toe and no heel."
    ends = [name for name in (targets.heel, targets.toe) if name is not None]
    if not all(isinstance(items.get(name), Param) for name in ends) or len(set(ends)) != len(ends):
        yield "The heel and toe of a pedal are not two params."


def _tap(tap: Tap, product: Product, items: dict[str, Item]) -> Iterator[str]:
    faults = tuple(_tap_faults(tap, product, items))
    yield from faults
    if not faults and not tap_arithmetic(product, tap).fits:
        yield "The shares of a beat and the times that taps set fit no integers of 64 bits."


def _tap_faults(tap: Tap, product: Product, items: dict[str, Item]) -> Iterator[str]:
    if not any(isinstance(part, Footswitch) and part.name == tap.control for part in product.panel):
        yield "What is tapped is no footswitch."
    item = items.get(tap.item)
    if not isinstance(item, Param) or not _is_time(item.scale):
        yield "What taps set is no param of times above zero."
    if tap.chooser is not None:
        chooser = items.get(tap.chooser)
        if not isinstance(chooser, Selector) or any(
            way.number is None or way.number.dimension is not Dimension.COUNT or way.number.number <= 0
            for way in chooser.ways
        ):
            yield "What chooses the part of a beat is no selector of numbers above zero."
    if tap.taps_from is not None:
        says = items.get(tap.taps_from)
        if not isinstance(says, Param) or whole_numbers(says.scale, _FEWEST_TAPS, _MOST_TAPS) != tap.taps:
            yield "What says the number of taps is no param that counts up to them."
    if not _FEWEST_TAPS <= tap.taps <= _MOST_TAPS or not 0 < tap.gap <= 60:
        yield "The number of taps or the longest interval between them is none."


def _is_time(scale: Scale) -> bool:
    return scale.unit.dimension is Dimension.TIME and scale.low > 0 and not scale.off_at_stop


def _midi(midi: Midi, product: Product, items: dict[str, Item]) -> Iterator[str]:
    if not 0 <= midi.channel <= _LAST_CHANNEL:
        yield "The MIDI channel is none."
    if midi.channel_from is not None:
        says = items.get(midi.channel_from)
        if not isinstance(says, Param) or whole_numbers(says.scale, 0, _LAST_CHANNEL) is None:
            yield "What says the MIDI channel is no param that counts from 0 to 16."
    if any(isinstance(items.get(cc.item), Trim | None) for cc in midi.ccs):
        yield "A controller sets an item that is not there, or a trim."
    numbers = [number for cc in midi.ccs for number in cc.numbers]
    if len(set(numbers)) != len(numbers) or len({cc.item for cc in midi.ccs}) != len(midi.ccs):
        yield "A controller or an item stands twice in the MIDI map."
    if not all(0 <= number <= _LAST_CC for number in numbers):
        yield "A controller is none."
    if any(cc.fine and cc.number >= 32 for cc in midi.ccs):
        yield "A fine controller has no partner."
    program = midi.program
    if program is not None:
        inside = 1 <= program.first <= program.last <= _LAST_PROGRAM
        if not inside or program.presets > product.holds.preset_slots:
            yield "The programs are none, or more than there are presets."


def _promise(promise: Promise, items: dict[str, Item]) -> Iterator[str]:
    match promise.subject:
        case OfItem(name):
            named = frozenset({name})
        case OfExpression(expression):
            if depth(expression) > DEEPEST:
                yield "The expression of a promise is nested too deep."
                return
            named = names(expression)
        case other:
            assert_never(other)
    for name in named:
        item = items.get(name)
        if item is None or (isinstance(item, Selector) and any(way.number is None for way in item.ways)):
            yield "A promise speaks of an item that is not there, or that has no number."
    if promise.low is None and promise.high is None:
        yield "A promise has no bound."
    if any(name not in named or not isinstance(items.get(name), Trim) for name in promise.vary):
        yield "A promise varies what is no trim that it speaks of."
