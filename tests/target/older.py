"""The independent reader of earlier revisions: bits by the old layout file, values as the host converts."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from paramc.image.convert import move
from paramc.image.factory import factory_values
from paramc.image.older import old_records
from paramc.image.reading import Loaded, flatten, read_image
from paramc.layout.json_form import to_json
from paramc.layout.layout import Kind, Layout
from paramc.layout.older import OldRecord
from tests.stories import story
from tests.target.emitted import Emitted
from tests.target.independent import Place, Reader, Values

UNITS = Path(__file__).parents[1] / "cases" / "revisions"


def unit_of(name: str, revision: int) -> bytes:
    """The unit of a revision that is kept: measured, played and saved."""
    loaded = read_image((UNITS / f"{name}.r{revision}.hex").read_bytes())
    assert isinstance(loaded, Loaded)
    chip = story(name)[revision - 1].layout.product.chip
    return flatten(loaded.chunks, chip.hex_at, chip.size, chip.blank).data


@cache
def file_of(layout: Layout) -> Any:
    """The layout file of a release."""
    return json.loads(to_json(layout))


@cache
def _records(layout: Layout, before: tuple[Layout, ...]) -> dict[tuple[int, Kind], OldRecord]:
    return {(one.revision, one.kind): one for one in old_records(layout, before)}


def reader_of(emitted: Emitted, memory: bytes) -> Reader:
    """What the firmware has to answer for a memory."""
    known = {layout.product.revision: layout for layout in emitted.before}

    def today(kind: str, place: Place) -> tuple[Values, str | None] | None:
        old = known.get(place.revision)
        if old is None or place.revision < emitted.layout.product.reads_from:
            return None
        return _today(emitted, old, Kind(kind), Reader(file_of(old), memory).place(kind, place.address))

    return Reader(emitted.file, memory, today)


def _today(emitted: Emitted, old: Layout, kind: Kind, place: Place) -> tuple[Values, str | None] | None:
    was, now = old.record(kind), emitted.layout.record(kind)
    if was is None or now is None:
        return None
    values = [place.values[field.name] for field in was.fields]
    # A last preset that is not there counts as the first one; of items the host sees to it.
    usual = factory_values(old, was)
    values = [
        value if field.codes == 256 or value < field.codes or field.number is not None else standard
        for field, value, standard in zip(was.fields, values, usual, strict=True)
    ]
    number = place.values.get("slot", 0)
    moved, _ = move(old, emitted.layout, kind, values, number)
    named = {field.name: value for field, value in zip(now.fields, moved, strict=True)}
    return named, _replaced(emitted, old, kind, place)


def _replaced(emitted: Emitted, old: Layout, kind: Kind, place: Place) -> str | None:
    """The first field of today's that comes from a code that the old revision did not have."""
    record = _records(emitted.layout, emitted.before)[old.product.revision, kind]
    was = old.record(kind)
    assert was is not None
    stays = ("slot", "name", "serial")
    stored = [place.values[field.name] for field in was.fields if field.kind.value not in stays]
    for field, value in zip(record.fields, stored, strict=True):
        if field.width and (value >= field.codes or value in field.vacant) and field.targets:
            return field.targets[0].name
    return None
