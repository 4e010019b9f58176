"""Records for the vectors file: what the factory writes, and what shows a packing mistake."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from paramc.image.factory import FIRST_COUNTER, factory_values
from paramc.image.records import encode
from paramc.layout.layout import Kind, Layout, Record


def record_vectors(layout: Layout) -> list[dict[str, Any]]:
    """Every factory record, then for each kind the least, the greatest and each single bit of each
    field, all at the kind's first place. values stand in the order of the kind's fields."""
    return [vector for record in layout.records for vector in _of_kind(layout, record)]


def _of_kind(layout: Layout, record: Record) -> Iterator[dict[str, Any]]:
    for index, address in enumerate(record.places):
        slot = index if record.kind is Kind.PRESETS else 0
        if record.kind in (Kind.IDENTITY, Kind.BENCH) or index < record.numbers:
            yield _vector(layout, record, address, "factory", factory_values(layout, record, slot))
    for purpose, values in _extremes(record):
        yield _vector(layout, record, record.places[0], purpose, values)


def _extremes(record: Record) -> Iterator[tuple[str, tuple[int, ...]]]:
    fields = record.fields
    yield "least", tuple(0 for _ in fields)
    yield "greatest", tuple(max(field.codes - 1, 0) for field in fields)
    for at, field in enumerate(fields):
        for bit in range(field.width):
            if 1 << bit < field.codes:
                yield f"one bit of {field.name}", tuple((other == at) << bit for other in range(len(fields)))


def _vector(
    layout: Layout, record: Record, address: int, purpose: str, values: Sequence[int]
) -> dict[str, Any]:
    blob = encode(layout, record, address, FIRST_COUNTER, values)
    return {
        "purpose": purpose,
        "kind": record.kind.value,
        "address": address,
        "counter": blob[1],
        "values": [str(value) if value >= 1 << 53 else value for value in values],
        "bytes": blob.hex().upper(),
    }
