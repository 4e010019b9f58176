"""Where the records stand: regions one after another, each place on a page of its own."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.layout.fields import Content
from paramc.layout.layout import Record
from paramc.model.product import Chip


def clear_zone(chip: Chip) -> int:
    """Bytes in front of the first place: those to leave, up to the next page edge."""
    return -(-chip.leave_first // chip.page) * chip.page


def bytes_needed(chip: Chip, contents: Iterable[Content]) -> int:
    """The sum of the clear zone and all places."""
    return clear_zone(chip) + sum(content.copies * content.place_bytes(chip.page) for content in contents)


def placed(chip: Chip, contents: Iterable[Content]) -> tuple[Record, ...]:
    """The records with their addresses, in order. That they fit has been made sure of."""
    records = []
    start = clear_zone(chip)
    for content in contents:
        size = content.place_bytes(chip.page)
        end = start + content.copies * size
        records.append(
            Record(
                kind=content.kind,
                places=tuple(range(start, end, size)),
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
