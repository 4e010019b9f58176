"""Products of any shape, for properties that hold for all of them."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from paramc.model.items import Flag, Item, Param, Selector, Trim, Way
from paramc.model.panel import Knob
from paramc.model.product import Chip, Order, Product
from paramc.model.scale import Scale, Stepped, Straight
from paramc.numbers.crc import CATALOGUE
from paramc.numbers.units import NO_UNIT
from tests.unit.layout.products import holds, product


def scales(codes: int) -> Scale:
    return Scale(NO_UNIT, Fraction(0), Fraction(codes - 1), Straight(), Stepped(Fraction(1)))


@st.composite
def products(draw: st.DrawFn) -> Product:
    """Products with any number of items of any width on any memory."""
    items: list[Item] = []
    for at in range(draw(st.integers(0, 20))):
        name, codes = f"item_{at}", draw(st.integers(2, 5000))
        kept_once = draw(st.booleans())
        match draw(st.sampled_from(("param", "selector", "flag", "trim"))):
            case "param":
                items.append(Param(name, "P", scales(codes), 0, kept_once))
            case "selector":
                ways = tuple(Way(f"way_{n}", "W") for n in range(codes % 30 + 2))
                items.append(Selector(name, "S", ways, 0, kept_once))
            case "flag":
                items.append(Flag(name, "F", 0, kept_once))
            case _:
                items.append(Trim(name, "T", scales(codes), 0))
    panel = tuple(
        Knob(f"KNOB_{at}", "K", bits, (0, (1 << bits) - 1), measured=draw(st.booleans()))
        for at, bits in enumerate(draw(st.lists(st.integers(4, 6), max_size=4)))
    )
    page = draw(st.sampled_from((1, 2, 8, 16, 32, 64, 128)))
    chip = Chip(
        1 << 16,
        page,
        100_000,
        draw(st.sampled_from(list(Order))),
        leave_first=draw(st.integers(0, 200)),
        checksum=CATALOGUE[draw(st.sampled_from(("crc-8/autosar", "crc-16/ibm-3740", "crc-32/iso-hdlc")))],
    )
    return product(
        tuple(items),
        panel,
        chip=chip,
        holds=holds(
            serial_characters=draw(st.integers(0, 20)),
            preset_slots=draw(st.integers(1, 40)),
            preset_names=draw(st.integers(0, 30)),
            preset_growth=draw(st.integers(0, 5)),
            state_copies=draw(st.integers(2, 9)),
        ),
    )
