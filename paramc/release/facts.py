"""What is said of a product and its items, fact by fact, before and after."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias, assert_never

from paramc.emit.wording import engine_text
from paramc.frozen import dataclass
from paramc.image.codes import code_text, quantity_text
from paramc.model.items import Flag, Item, Param, Selector, Trim
from paramc.model.laws import Geometric, Points, SCurve, Straight, ThreePoint
from paramc.model.midi import EVERY_CHANNEL, Midi
from paramc.model.panel import control_word
from paramc.model.product import Product
from paramc.model.scale import HALF, Coded, Scale, Stepped
from paramc.numbers.quantity import Quantity, decimal_text
from paramc.numbers.units import difference_unit
from paramc.release.pairs import Pair


@dataclass(frozen=True, slots=True)
class Change:
    """A fact that is another now. item: its name now, "" for the product. was, now: None where it is not
    said."""

    item: str
    label: str
    what: str
    was: str | None
    now: str | None


_Facts: TypeAlias = dict[str, str | None]


def product_changes(old: Product, new: Product) -> Iterator[Change]:
    """What the product says of itself otherwise, and its panel."""
    yield from _changes("", new.label, _product_facts(old), _product_facts(new))


def item_changes(old: Product, new: Product, pair: Pair) -> Iterator[Change]:
    """What an item that both have says otherwise."""
    was, now = pair.was, pair.now
    assert was is not None and now is not None
    before = {**_item_facts(was), **_play_facts(old, was)}
    yield from _changes(now.name, now.label, before, {**_item_facts(now), **_play_facts(new, now)})


def _changes(item: str, label: str, before: _Facts, after: _Facts) -> Iterator[Change]:
    for what in dict.fromkeys((*before, *after)):
        was, now = before.get(what), after.get(what)
        if was != now:
            yield Change(item, label, what, was, now)


def _product_facts(product: Product) -> _Facts:
    return {
        "label": product.label,
        "about": product.about,
        "board revisions": ", ".join(product.hardware) or None,
        "wakes": f"from {product.wakes_from}" if product.wakes_from else product.wakes.value,
        "first preset": str(product.first_preset),
        "supply": None if product.supply is None else product.supply.text,
        "inside": None if product.inside is None else product.inside.value,
        "if trims are lost": product.holds.if_lost.value if product.trims else None,
        "controls": ", ".join(f"{control_word(one)} {one.name}" for one in product.panel) or None,
        "modes": ", ".join(mode.name for mode in product.modes) or None,
        **_midi_facts(product.midi),
    }


def _midi_facts(midi: Midi | None) -> _Facts:
    if midi is None:
        return {}
    channel = "every" if midi.channel == EVERY_CHANNEL else str(midi.channel)
    program = midi.program
    return {
        "MIDI channel": channel if midi.channel_from is None else f"from {midi.channel_from}",
        "MIDI programs": None if program is None else f"{program.first} to {program.last}",
    }


def _play_facts(product: Product, item: Item) -> _Facts:
    """What turns an item."""
    turns = [f"{sets.control} in {mode.name}" for mode, sets in product.setters(item.name)]
    turns += [f"{targets.pedal} in {mode.name}" for mode, targets in product.pedalled(item.name)]
    ccs = () if product.midi is None else product.midi.ccs
    controller = next((cc for cc in ccs if cc.item == item.name), None)
    tap = product.tap if product.tap is not None and product.tap.item == item.name else None
    return {
        "set by": ", ".join(turns) or None,
        "controller": None if controller is None else f"{controller.number}{' fine' * controller.fine}",
        "tapped on": None if tap is None else tap.control,
    }


def _item_facts(item: Item) -> _Facts:
    facts: _Facts = {"label": item.label}
    match item:
        case Param():
            facts |= _scale_facts(item.scale)
            facts |= {
                "flat": f"{decimal_text(item.flat * 100)} % of travel" if item.flat else None,
                "default": code_text(item, item.default),
                "acts as": None if item.role is None else item.role.value,
                "limiter": item.limiter,
            }
        case Trim():
            facts |= _scale_facts(item.scale)
            facts |= _trim_facts(item)
        case Selector():
            facts |= {"ways": ", ".join(way.name for way in item.ways)}
            facts |= {f"label of {way.name}": way.label for way in item.ways}
            facts |= {
                f"number of {way.name}": None if way.number is None else str(way.number) for way in item.ways
            }
            facts |= {"default": code_text(item, item.default)}
        case Flag():
            facts |= {"default": code_text(item, item.default)}
        case other:
            assert_never(other)
    facts["engine"] = None if item.engine is None else engine_text(item, item.engine)
    facts["texts"] = " / ".join(f"{note.signal.value}: {note.text}" for note in item.notes) or None
    return facts


def _trim_facts(trim: Trim) -> _Facts:
    unit = trim.scale.unit
    plausible = None
    if trim.plausible is not None:
        plausible = " to ".join(quantity_text(end, unit) for end in trim.plausible)
    return {
        "nominal": code_text(trim, trim.nominal),
        "plausible": plausible,
        "safe": None if trim.safe is None else code_text(trim, trim.safe),
        "probe": trim.probe,
        "aim": None if trim.aim is None else str(trim.aim),
        "slope": None if trim.slope is None else decimal_text(trim.slope),
    }


def _scale_facts(scale: Scale) -> _Facts:
    ends = " to ".join(str(Quantity(end, scale.unit)) for end in (scale.first, scale.last))
    match scale.grid:
        case Stepped(step):
            grid = f"step {Quantity(step, difference_unit(scale.unit))}"
        case Coded(bits):
            grid = f"coded {bits} bits"
        case other:
            assert_never(other)
    return {
        "range": f"{ends}, off at the stop" if scale.off_at_stop else ends,
        "noon": quantity_text(scale.at(HALF), scale.unit),
        "taper": _taper(scale),
        "grid": grid,
    }


def _taper(scale: Scale) -> str:
    match scale.law:
        case Straight():
            return "straight"
        case Geometric():
            return "geometric"
        case ThreePoint():
            return "through noon"
        case SCurve(share):
            return f"s, {decimal_text(share * 100)} % at a quarter"
        case Points(points):
            return f"through {len(points)} points: " + ", ".join(
                quantity_text(value, scale.unit) for _, value in points
            )
        case unknown:
            assert_never(unknown)

