"""What firmware reads of an earlier revision is what the host makes of it, value for value."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from paramc.image.convert import move
from paramc.image.older import old_records, today
from paramc.layout.layout import FieldKind, Kind, Layout
from tests.stories import REVISIONS, story

STAYS = (FieldKind.SLOT, FieldKind.NAME, FieldKind.SERIAL)
UP = [
    (name, one, other)
    for name, last in REVISIONS.items()
    for other in range(2, last + 1)
    for one in range(1, other)
]


def layout(name: str, revision: int) -> Layout:
    return story(name)[revision - 1].layout


@pytest.mark.slow
@pytest.mark.parametrize(("name", "one", "other"), UP)
def test_every_value_as_on_the_host(name: str, one: int, other: int) -> None:
    """Also values behind the codes of a field, as only foreign hands write them."""
    chance = random.Random(f"{name} {one} {other}")
    old, new = layout(name, one), layout(name, other)
    records = {record.kind: record for record in old_records(new, [old])}
    assert set(records) == {record.kind for record in new.records if old.record(record.kind)} - {
        Kind.IDENTITY
    }
    for kind, record in records.items():
        was, now = old.record(kind), new.record(kind)
        assert was is not None and now is not None
        for _ in range(40):
            values = [chance.getrandbits(field.width) if field.width < 64 else 0 for field in was.fields]
            moved, _told = move(old, new, kind, values, 0)
            wanted = {
                (field.name, field.kind): value
                for field, value in zip(now.fields, moved, strict=True)
                if field.kind not in STAYS
            }
            kept = [value for field, value in zip(was.fields, values, strict=True) if field.kind not in STAYS]
            told = list(today(record, kept))
            assert len(told) == len(wanted)
            assert {(name, kind): code for name, kind, code in told} == wanted


@pytest.mark.slow
def test_a_revision_that_is_not_read_is_not_carried() -> None:
    new = layout("long_causeway", 5)
    before = [layout("long_causeway", revision) for revision in range(1, 5)]
    assert {record.revision for record in old_records(new, before)} == {1, 2, 3, 4}
    later = replace(new, product=replace(new.product, reads_from=3))
    assert {record.revision for record in old_records(later, before)} == {3, 4}


def test_most_of_what_did_not_change_stays() -> None:
    new, old = layout("teasel_pinch", 2), layout("teasel_pinch", 1)
    presets = next(one for one in old_records(new, [old]) if one.kind is Kind.PRESETS)
    assert all(target.table is None for field in presets.fields for target in field.targets)
    assert presets.constants == ()
    setup = next(one for one in old_records(new, [old]) if one.kind is Kind.SETUP)
    assert [(one.name, one.code) for one in setup.constants] == [("dry_blend", 0)]
