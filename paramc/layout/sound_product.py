"""What a product read from a file must keep, so that everything behind can take it as it is.

Each generator yields whole sentences; the first is enough. What comes later relies on what came
before, so nothing may be asked for again behind a first sentence.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import assert_never

from paramc.layout.layout import Kind
from paramc.layout.sound_history import history_faults
from paramc.layout.sound_play import deed_is_sound, pedal_faults, play_faults
from paramc.model.answers import DEEPEST
from paramc.model.engine import (
    AsStored,
    ByExpression,
    Conversion,
    Decay,
    Engine,
    Gain,
    Phase,
    Pitch,
    Pole,
    Samples,
    WhereOne,
)
from paramc.model.expression import VALUE, depth, names
from paramc.model.items import Flag, Item, Param, Selector, Trim, is_in_use, kind_word
from paramc.model.laws import is_sound
from paramc.model.modes import Gesture, Hold, Jumper, Press
from paramc.model.panel import Footswitch, Knob, Lamp, Pedal, Switch
from paramc.model.product import Chip, Holds, Product
from paramc.model.scale import Coded, Geometric, Points, Scale, SCurve, Stepped, Straight, ThreePoint
from paramc.numbers import crc, formats
from paramc.numbers.quantity import decimal_text
from paramc.numbers.units import Dimension

MOST_CODES = 1 << 32
_LARGEST_MEMORY = 1 << 16
_HIGHEST_ADDRESS = 1 << 32
_MOST_ADC_BITS = 16
_HIGHEST_PLACE = 254
_NAME = re.compile(r"[a-z_][a-z0-9_]{0,39}")
_CONTROL = re.compile(r"[A-Z][A-Z0-9_]{0,39}")
_PREFIX = re.compile(r"[a-z]{1,8}")
_LANGUAGE = re.compile(r"[a-z]{2,3}")
_MEASURED_BY: dict[type, set[Dimension]] = {
    Gain: {Dimension.LEVEL_DIFFERENCE},
    Samples: {Dimension.TIME},
    Phase: {Dimension.FREQUENCY},
    Pole: {Dimension.FREQUENCY},
    Pitch: {Dimension.PITCH},
    Decay: {Dimension.TIME},
}
_MOST_FLAT = Fraction(12, 100)


def product_faults(product: Product) -> Iterator[str]:
    """What keeps a product from being one."""
    yield from _facts(product)
    yield from _chip(product.chip)
    yield from _holds(product.holds)
    yield from _repeated("item", [item.name for item in product.items])
    for item in product.items:
        yield from _item(item)
    yield from history_faults(product)
    yield from _panel(product)
    for mode in product.modes:
        yield from _mode(product, mode.name)
    yield from play_faults(product)
    yield from _presets(product)
    if product.trims or any(knob.measured for knob in product.knobs):
        if product.holds.bench_copies < 1:
            yield "There are trims or measured ends, and bench has no copies."
    learned = any(pedal.learned for pedal in product.pedals)
    if (product.kept_once or learned) and product.holds.setup_copies < 1:
        yield "There are items or ends of pedals that are kept once, and setup has no copies."


def _facts(product: Product) -> Iterator[str]:
    if not _NAME.fullmatch(product.name):
        yield "The product's name is not a name."
    if not _PREFIX.fullmatch(product.prefix):
        yield "The product's prefix is not 1 to 8 letters."
    if not 1 <= product.code <= 0xFFFE:
        yield "The product's code is outside 1 to 65534."
    if not 1 <= product.revision <= 254:
        yield "The product's revision is outside 1 to 254."
    if len(product.hardware) > 255:
        yield "The product has more than 255 board revisions."
    yield from _repeated("board revision", product.hardware)
    places = product.hardware_places
    if not all(0 <= place <= _HIGHEST_PLACE for place in places):
        yield f"The place of a board revision is outside 0 to {_HIGHEST_PLACE}."
    yield from _repeated("place of a board", places)
    if product.language is not None and not _LANGUAGE.fullmatch(product.language):
        yield "The product's language is not two or three letters."


def _chip(chip: Chip) -> Iterator[str]:
    if not 1 <= chip.size <= _LARGEST_MEMORY:
        yield f"The memory's size is outside 1 to {_LARGEST_MEMORY} bytes."
    if not 1 <= chip.page <= chip.size:
        yield "The memory's page is outside 1 byte to its size."
    if chip.endurance < 1:
        yield "The memory's endurance is below 1."
    if not 0 <= chip.blank <= 0xFF:
        yield "The memory's blank byte is outside 0 to 255."
    if not 0 <= chip.hex_at <= _HIGHEST_ADDRESS - chip.size:
        yield "The memory's address in image files is outside 32 bits."
    if not 0 <= chip.leave_first <= chip.size:
        yield "The bytes to leave are more than the memory has."
    if chip.brown_out is not None and chip.brown_out <= 0:
        yield "The brown-out voltage is not above zero."
    if crc.self_check(chip.checksum) != chip.checksum.check:
        yield "The checksum's check value is not the one of its numbers."


def _holds(holds: Holds) -> Iterator[str]:
    counts = (
        holds.identity_copies,
        holds.serial_characters,
        holds.bench_copies,
        holds.bench_growth,
        holds.setup_copies,
        holds.setup_growth,
        holds.preset_slots,
        holds.preset_spare,
        holds.preset_growth,
        holds.preset_names,
        holds.state_copies,
        holds.state_growth,
    )
    if not all(0 <= count <= _LARGEST_MEMORY for count in counts):
        yield f"A count in holds is outside 0 to {_LARGEST_MEMORY}."
    if holds.chosen != tuple(kind.value for kind in Kind if kind.value in holds.chosen):
        yield "What holds leaves open is not kinds of record, each once and in their order."
    if min(holds.setup_saves, holds.preset_saves, holds.state_saves) < 0:
        yield "A count of saves is below zero."
    if min(holds.identity_copies, holds.preset_slots, holds.state_copies) < 1:
        yield "Identity, presets or state has no place."


def _item(item: Item) -> Iterator[str]:
    what = f"{kind_word(item)} {item.name[:40]!a}"
    if not _NAME.fullmatch(item.name):
        yield f"The name of {what} is not a name."
    match item:
        case Param() | Trim():
            yield from _scale(item.scale, what)
        case Selector():
            yield from _repeated(f"way of {what}", [way.name for way in item.ways])
            if len(item.ways) < 2:
                yield f"The {what} has less than two ways."
            if not all(_NAME.fullmatch(way.name) for way in item.ways):
                yield f"A way of {what} has a name that is not one."
            numbers = {way.number is not None and way.number.dimension for way in item.ways}
            if len(numbers) > 1:
                yield f"The ways of {what} have numbers of several kinds."
            if list(item.places) != sorted(set(item.places)):
                yield f"The places of the ways of {what} do not ascend."
            if not all(0 <= place <= _HIGHEST_PLACE for place in item.places):
                yield f"A place of a way of {what} is outside 0 to {_HIGHEST_PLACE}."
        case Flag():
            pass
        case other:
            assert_never(other)
    lowest = 1 if isinstance(item, Trim) and item.scale.off_at_stop else 0
    codes = [item.default, *([item.safe] if isinstance(item, Trim) and item.safe is not None else [])]
    if not all(lowest <= code and is_in_use(item, code) for code in codes):
        yield f"A code that {what} begins with is not one of its codes."
    if isinstance(item, Param) and not 0 <= item.flat <= _MOST_FLAT:
        most = decimal_text(_MOST_FLAT * 100)
        yield f"The flat of {what} is below zero or wider than {most} % of its travel."
    if isinstance(item, Trim):
        if item.slope == 0:
            yield f"The slope of {what} is zero."
        if item.plausible is not None and not item.plausible[0] <= item.plausible[1]:
            yield f"The plausible values of {what} are not lowest and highest."
    if item.engine is not None:
        yield from _engine(item, item.engine, what)


def _scale(scale: Scale, what: str) -> Iterator[str]:
    first, last = scale.first, scale.last
    if first == last:
        yield f"The range of {what} has one value."
    match scale.grid:
        case Stepped(step):
            if step <= 0 or ((last - first) / step).denominator != 1:
                yield f"The range of {what} is not whole steps."
            if abs(last - first) / step >= MOST_CODES:
                yield f"The {what} has more codes than 32 bits can count."
        case Coded(bits):
            if not 2 <= bits <= 32:
                yield f"The {what} is coded in less than 2 or more than 32 bits."
        case other:
            assert_never(other)
    match scale.law:
        case Straight():
            pass
        case Geometric():
            if first * last <= 0:
                yield f"The ends of {what} have no ratio."
        case ThreePoint(noon):
            if not scale.low < noon < scale.high:
                yield f"The noon of {what} is not between its ends."
        case SCurve() | Points():
            if not is_sound(scale.law, first, last):
                yield f"The taper of {what} cannot be worked out."
        case unknown:
            assert_never(unknown)


def _engine(item: Item, engine: Engine, what: str) -> Iterator[str]:
    if formats.parse(engine.format.name) != engine.format:
        yield f"The format of {what} is not what its name says."
    if not _conversion_is_sound(item, engine.conversion):
        yield f"The conversion of {what} cannot be worked out."
    if engine.tolerance is not None and engine.tolerance.amount < 0:
        yield f"The tolerance of {what} is below zero."


def _conversion_is_sound(item: Item, conversion: Conversion) -> bool:
    if isinstance(conversion, AsStored):
        return True
    if isinstance(conversion, ByExpression):
        # A selector's value is its way's number; whether every code has an answer, the engine table knows.
        numbered = not isinstance(item, Selector) or item.ways[0].number is not None
        made = conversion.expression
        return numbered and depth(made) <= DEEPEST and names(made) <= {VALUE}
    match item:
        case Param() | Trim():
            dimension = item.scale.unit.dimension
        case Selector() if item.ways[0].number is not None:
            dimension = item.ways[0].number.dimension
        case _:
            return False
    match conversion:
        case WhereOne(one):
            return one != 0
        case Gain() | Pitch():
            rate = Fraction(1)
        case Samples(rate) | Phase(rate) | Pole(rate) | Decay(rate):
            pass
        case other:
            assert_never(other)
    return rate > 0 and dimension in _MEASURED_BY[type(conversion)]


def _panel(product: Product) -> Iterator[str]:
    yield from _repeated("control", [control.name for control in product.panel])
    for control in product.panel:
        what = f"control {control.name[:40]!a}"
        if not _CONTROL.fullmatch(control.name):
            yield f"The name of {what} is not a name."
        match control:
            case Knob():
                if not 1 <= control.adc_bits <= _MOST_ADC_BITS:
                    yield f"The converter of {what} has less than 1 or more than {_MOST_ADC_BITS} bits."
                if not all(0 <= end <= control.top for end in control.ends):
                    yield f"The ends of {what} are outside its converter's counts."
                if control.ends[0] == control.ends[1]:
                    yield f"The ends of {what} are equal."
                if not 0 <= control.noise <= control.top:
                    yield f"The noise of {what} is outside its converter's counts."
                if not 0 < control.turn <= 360:
                    yield f"The turn of {what} is not a turn."
                if not is_sound(control.law, Fraction(0), Fraction(1)):
                    yield f"The taper of {what} cannot be undone."
            case Switch():
                if not 2 <= control.positions <= _LARGEST_MEMORY:
                    yield f"The {what} has less than two positions."
            case Pedal():
                yield from pedal_faults(control, what)
            case Footswitch() | Lamp():
                pass
            case other:
                assert_never(other)


def _mode(product: Product, name: str) -> Iterator[str]:
    mode = next(mode for mode in product.modes if mode.name == name)
    what = f"mode {name[:40]!a}"
    items = {item.name: item for item in product.items}
    controls = {control.name for control in product.panel}
    used = [sets.control for sets in mode.sets] + [shows.lamp for shows in mode.shows]
    gestures = [mode.enter, mode.leave, *(does.gesture for does in mode.does)]
    used += [name for gesture in gestures if gesture is not None for name in _controls(gesture)]
    if not _NAME.fullmatch(name):
        yield f"The name of {what} is not a name."
    if not controls.issuperset(used):
        yield f"The {what} names a control that is not there."
    if not items.keys() >= {sets.item for sets in mode.sets}:
        yield f"The {what} sets an item that is not there."
    for does in mode.does:
        if not deed_is_sound(does.deed, product):
            yield f"A deed of {what} is about an item or a control that is not there."


def _controls(gesture: Gesture) -> tuple[str, ...]:
    match gesture:
        case Press(control):
            return (control,)
        case Hold(controls):
            return controls
        case Jumper():
            return ()
        case other:
            assert_never(other)


def _presets(product: Product) -> Iterator[str]:
    slots, kept = product.holds.preset_slots, product.per_preset
    yield from _repeated("preset", [preset.number for preset in product.presets])
    if not 1 <= product.first_preset <= slots:
        yield "The first preset is not one of the slots."
    if product.wakes_from is not None:
        if not any(isinstance(it, Selector) and it.name == product.wakes_from for it in product.items):
            yield "What the unit wakes from is not a selector."
    for preset in product.presets:
        what = f"preset {preset.number}"
        if not 1 <= preset.number <= slots:
            yield f"The {what} is not one of the slots."
        if len(preset.codes) != len(kept):
            yield f"The {what} has {len(preset.codes)} codes for {len(kept)} items."
        codes = zip(preset.codes, kept, strict=True)
        if not all(code >= 0 and is_in_use(item, code) for code, item in codes):
            yield f"A code of {what} is not one of its item's codes."
        if product.holds.preset_names and len(preset.label.encode()) > product.holds.preset_names:
            yield f"The name of {what} is longer than the bytes kept for it."


def _repeated(what: str, names: Iterable[object]) -> Iterator[str]:
    seen: set[object] = set()
    for name in names:
        if name in seen:
            yield f"The {what} {str(name)[:40]!a} is there twice."
        seen.add(name)
