"""How values, codes and clock positions read in the comments of the C."""

from __future__ import annotations

from fractions import Fraction
from typing import assert_never

from paramc.model.engine import (
    AsStored,
    ByExpression,
    Decay,
    Engine,
    Gain,
    Phase,
    Pitch,
    Pole,
    Samples,
    WhereOne,
)
from paramc.model.items import Flag, Item, Param, Selector, Trim, flat_of, is_off, kind_word, unit_of
from paramc.model.panel import CLOCK_DEGREES
from paramc.model.readings import code_of_reading
from paramc.model.scale import Stepped
from paramc.numbers.quantity import Quantity, decimal_text
from paramc.numbers.units import Unit, difference_unit
from paramc.numbers.wording import real_text

QUARTERS = tuple(Fraction(quarter, 4) for quarter in range(5))
"""The travels at which tables are shown: 7:00, 9:30, 12:00, 2:30 and 5:00 on a knob of 300 degrees."""

_SIGNIFICANT = 4


def value_text(item: Item, code: int) -> str:
    """What a code of an item stands for, with its unit."""
    match item:
        case Param() | Trim():
            if is_off(item, code):
                return "off"
            return real_text(item.scale.value(code), item.scale.unit, _SIGNIFICANT)
        case Selector():
            return f'"{item.way(code).label}"'
        case Flag():
            return "on" if code else "off"
        case other:
            assert_never(other)


def item_text(item: Item) -> str:
    """What an item's codes mean, as one line."""
    return f"{kind_word(item).capitalize()} {item.label}: {_codes_text(item)}. {_default_text(item)}"


def _codes_text(item: Item) -> str:
    match item:
        case Param() | Trim():
            scale = item.scale
            ends = f"{Quantity(scale.first, scale.unit)} to {Quantity(scale.last, scale.unit)}"
            first = "code 0 is off, code k" if scale.off_at_stop else "code k"
            if not isinstance(scale.grid, Stepped):
                return f"{ends} along its taper in {item.codes} codes of equal travel"
            step = Quantity(scale.grid.step, difference_unit(scale.unit))
            less = "less" if scale.last < scale.first else "and"
            return f"{ends}, {first} is {Quantity(scale.first, scale.unit)} {less} k times {step}"
        case Selector():
            return "one of its ways"
        case Flag():
            return "0 off, 1 on"
        case other:
            assert_never(other)


def _default_text(item: Item) -> str:
    word = "Nominal" if isinstance(item, Trim) else "Default"
    text = f"{word} {item.default}: {value_text(item, item.default)}."
    if isinstance(item, Trim) and item.safe is not None:
        text += f" While lost {item.safe}: {value_text(item, item.safe)}."
    return text


def shown_codes(item: Item) -> tuple[tuple[str, int], ...]:
    """The codes that a table of an item is shown at, each with where a knob points or the way's name."""
    match item:
        case Param() | Trim():
            return tuple((clock_text(travel), _code_at(item, travel)) for travel in QUARTERS)
        case Selector():
            return tuple((way.name, code) for code, way in zip(item.places, item.ways, strict=True))
        case Flag():
            return (("off", 0), ("on", 1))
        case other:
            assert_never(other)


def _code_at(item: Param | Trim, travel: Fraction) -> int:
    return code_of_reading(item.scale, travel, flat=flat_of(item))


def clock_text(travel: Fraction, turn: Fraction = CLOCK_DEGREES) -> str:
    """Where a knob of a turn points at a share of its travel: half a degree is a minute on the clock."""
    hour, minute = divmod(round(720 + (travel - Fraction(1, 2)) * 2 * turn), 60)
    return f"{(hour - 1) % 12 + 1}:{minute:02}"


def engine_text(item: Item, engine: Engine) -> str:
    """An engine's format and conversion, and the tolerance where there is one."""
    unit = unit_of(item)
    text = f"{engine.format.name} {_conversion_text(engine, unit)}"
    tolerance = engine.tolerance
    if tolerance is not None and unit is not None:
        if tolerance.relative:
            text += f", within {decimal_text(tolerance.amount * 100)} %"
        else:
            text += f", within {Quantity(tolerance.amount, difference_unit(unit))}"
    return text


def _conversion_text(engine: Engine, unit: Unit | None) -> str:
    match engine.conversion:
        case AsStored():
            return "as stored"
        case WhereOne(one):
            return "counting" if unit is None else f"where 1 is {Quantity(one, difference_unit(unit))}"
        case Gain():
            return "as amplitude ratio"
        case Samples(rate):
            return f"as samples at {decimal_text(rate)} Hz"
        case Phase(rate):
            return f"as phase step at {decimal_text(rate)} Hz"
        case Pole(rate):
            return f"as one-pole coefficient at {decimal_text(rate)} Hz"
        case Pitch():
            return "as frequency ratio"
        case Decay(rate):
            return f"as decay to -60 dB at {decimal_text(rate)} Hz"
        case ByExpression():
            return "by its expression"
        case other:
            assert_never(other)
