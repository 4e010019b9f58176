"""How many copies and spare places there are of what a file leaves open."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from paramc.layout.fields import Content, contents
from paramc.layout.layout import Kind
from paramc.layout.places import MOST_PLACES, bytes_needed
from paramc.layout.wear import places_for_years, places_of_one
from paramc.model.product import Holds, Product

_WEARING: Final = (Kind.PRESETS, Kind.STATE)
"""The kinds whose places are chosen for their years. The others are two copies: mirrors that the bench
writes, and setup, which is saved rarely."""


def settled(product: Product) -> Holds:
    """What the memory holds, with a number of places for all that the file leaves open.

    Spare places and copies of state are the fewest that last FEWEST_YEARS, as far as the memory has
    room. Where it has not enough for both, each place goes to the kind that would wear out first, so
    that the memory as a whole lasts as long as it can; to presets where both are alike. What cannot be
    had beside what the file fixes stays the fewest that there may be.
    """
    chip, holds = product.chip, product.holds
    needed = contents(product)
    room = chip.size - bytes_needed(chip, needed)
    growing = {content.kind: content for content in needed if _grows(content, holds)}
    while True:
        wanting = [
            content
            for content in growing.values()
            if content.copies < MOST_PLACES
            and places_of_one(content) < places_for_years(chip, content)
            and content.place_bytes(chip.page) <= room
        ]
        if not wanting:
            break
        # Endurance and cycles a save are the same for all, so this is the order of their years.
        first = min(wanting, key=lambda content: Fraction(places_of_one(content), content.saves))
        growing[first.kind] = replace(first, copies=first.copies + 1)
        room -= first.place_bytes(chip.page)
    if (presets := growing.get(Kind.PRESETS)) is not None:
        holds = replace(holds, preset_spare=presets.copies - presets.numbers)
    if (state := growing.get(Kind.STATE)) is not None:
        holds = replace(holds, state_copies=state.copies)
    return holds


def _grows(content: Content, holds: Holds) -> bool:
    return content.kind in _WEARING and content.kind.value in holds.chosen
