"""Where the records stand: regions one after another, each place on a page of its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from paramc.layout.fields import Content
from paramc.layout.layout import Kind, Record
from paramc.model.product import Chip

MOST_PLACES: Final = 255
"""Of one kind: the firmware numbers them in one byte."""


def clear_zone(chip: Chip) -> int:
    """Bytes in front of the first place: those to leave, up to the next page edge."""
    return -(-chip.leave_first // chip.page) * chip.page


def bytes_needed(chip: Chip, contents: Iterable[Content]) -> int:
    """The sum of the clear zone and all places."""
    return clear_zone(chip) + sum(content.copies * content.place_bytes(chip.page) for content in contents)


def placed(
    chip: Chip, contents: Iterable[Content], fixed: Mapping[Kind, Record] = MappingProxyType({})
) -> tuple[Record, ...]:
    """The records with their addresses, in order. That they fit has been made sure of.

    fixed: records that releases have; their places stay, and what is added stands behind the last of all.
    """
    records = []
    start = max([clear_zone(chip), *(record.end for record in fixed.values())])
    start = -(-start // chip.page) * chip.page
    for content in contents:
        was = fixed.get(content.kind)
        known = () if was is None else was.places
        size = content.place_bytes(chip.page)
        end = start + (content.copies - len(known)) * size
        records.append(
            Record(
                kind=content.kind,
                places=(*known, *range(start, end, size)),
                place_bytes=size,
                numbers=content.numbers,
                fields=content.fields,
                growth=content.growth,
                length=content.length,
                order=content.order,
                saves=content.saves,
            )
        )
        start = end
    assert start <= chip.size
    return tuple(records)
