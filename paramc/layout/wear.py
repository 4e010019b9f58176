"""How long the memory lasts at the saves a day that a file says."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.layout.fields import Content
from paramc.layout.layout import Kind, Record
from paramc.model.product import Chip, Holds

DAYS_A_YEAR: Final = 365

FEWEST_YEARS: Final = 15
"""What a memory is to last."""


def cycles_a_save(chip: Chip) -> int:
    """Cycles that a save costs the cell it costs most.

    Written byte by byte that is a cell of the checksum: broken, then written. A part that cycles a
    whole page for any byte of it cycles that page for the broken seal, the body and the checksum.
    """
    return 2 if chip.page == 1 else 3


def places_of_one(content: Content | Record) -> int:
    """The places over which the saves of one number spread: its own and all spare ones."""
    copies = content.copies if isinstance(content, Content) else len(content.places)
    return copies - content.numbers + 1


def says_no_saves(holds: Holds, kind: Kind) -> bool:
    """Whether the saves of a player's kind are those that are common, because its file says none."""
    said = {Kind.SETUP: holds.setup_saves, Kind.PRESETS: holds.preset_saves, Kind.STATE: holds.state_saves}
    return said.get(kind) == 0


def years(chip: Chip, content: Content | Record) -> Fraction | None:
    """Years until the hardest-worked cell has its endurance behind it, all saves on one number.

    None where the player never saves.
    """
    if content.saves == 0:
        return None
    cycles = content.saves * cycles_a_save(chip) * DAYS_A_YEAR
    return Fraction(chip.endurance * places_of_one(content), cycles)


def places_for_years(chip: Chip, content: Content | Record) -> int:
    """The fewest places of one number that last FEWEST_YEARS, at least one."""
    cycles = content.saves * cycles_a_save(chip) * DAYS_A_YEAR
    return max(1, -(-FEWEST_YEARS * cycles // chip.endurance))
