"""Lists of units read from end to end, for the tests."""

from __future__ import annotations

from dataclasses import dataclass

from paramc.image.batch import Failed, Listed, Mistake, UnitList, read_list
from paramc.layout.layout import Layout


@dataclass(frozen=True, slots=True)
class Batch:
    """The units of a list, those that are right and those that are not, each in its order."""

    listed: tuple[Listed, ...]
    failed: tuple[Failed, ...]


def read_batch(layout: Layout, data: bytes) -> Batch | Mistake:
    """All units of a list, or the mistake for which it cannot be read."""
    units = read_list(layout.product, data)
    if not isinstance(units, UnitList):
        return units
    every = tuple(units.read())
    assert len(every) == units.units
    return Batch(
        tuple(one for one in every if isinstance(one, Listed)),
        tuple(one for one in every if isinstance(one, Failed)),
    )
