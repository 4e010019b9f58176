"""What firmware does with records of earlier revisions: the conversion of the host, asked for every code.

Each value of today comes from one field of the old record at the most, its own or that of the selector which
was split into it. How values pass from one revision to the next is told in convert.py alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from paramc.image.convert import Values, raised
from paramc.image.factory import factory_values
from paramc.layout.layout import Field, FieldKind, Kind, Layout, Record
from paramc.layout.older import Constant, OldField, OldRecord, Target
from paramc.model.items import Item, is_in_use, vacant_codes
from paramc.tables.fit import fit
from paramc.tables.table import evaluate

_TEXTS: Final = (FieldKind.NAME, FieldKind.SERIAL)
_STAYS: Final = (FieldKind.SLOT, *_TEXTS)


def old_records(layout: Layout, before: Sequence[Layout]) -> tuple[OldRecord, ...]:
    """One for each revision that the product's firmware reads and each kind that both have, the oldest first.

    before: the releases with lower revisions. Identity is laid out alike in all, and is not among them.
    """
    carried = [one for one in before if layout.product.reads_from <= one.product.revision]
    return tuple(
        _Old(old, layout, was, record).record()
        for old in sorted(carried, key=lambda one: one.product.revision)
        for record in layout.records
        for was in [old.record(record.kind)]
        if was is not None and record.kind is not Kind.IDENTITY
    )


class _Old:
    """A kind of record as one revision saved it, on its way to today's."""

    def __init__(self, old: Layout, new: Layout, was: Record, now: Record) -> None:
        self.old, self.new, self.was, self.now = old, new, was, now
        self.numbers = {field.number: field for field in was.fields if field.kind is FieldKind.ITEM}
        usual = factory_values(new, now)
        self.usual = dict(zip(now.fields, usual, strict=True))

    def record(self) -> OldRecord:
        sources = {field: self._source(field) for field in self.now.fields if field.kind not in _STAYS}
        fields = tuple(
            OldField(
                width=field.width,
                codes=field.codes,
                standard=self._standard(field),
                targets=tuple(self._target(now, field) for now, source in sources.items() if source is field),
                vacant=self._vacant(field),
            )
            for field in self.was.fields
            if field.kind not in _STAYS
        )
        constants = tuple(
            Constant(now.name, now.kind, self._constant(now))
            for now, source in sources.items()
            if source is None
        )
        text = sum(field.width for field in self.was.fields if field.kind in _TEXTS) // 8
        return OldRecord(self.old.product.revision, self.was.kind, fields, constants, text)

    def _source(self, now: Field) -> Field | None:
        """The old field that a field of today comes from."""
        if now.kind is FieldKind.ITEM:
            own = self.numbers.get(now.number)
            if own is not None:
                return own
            since = self._item(now).history.since_before(self.old.product.revision)
            return None if since is None or since.number is None else self.numbers.get(since.number)
        same = (was for was in self.was.fields if was.kind is now.kind and was.number == now.number)
        if now.kind is FieldKind.MEASURED and not self._was_measured(now):
            return None
        return next((was for was in same if was.codes == now.codes), None)

    def _was_measured(self, now: Field) -> bool:
        """Whether the old record has what a bit says to be measured."""
        pair = [one for one in self.now.fields if one.number == now.number and one is not now]
        return all(self._source(one) is not None for one in pair)

    def _target(self, now: Field, was: Field) -> Target:
        if now.kind is not FieldKind.ITEM:
            return Target(now.name, now.kind, None)
        old = self.old.product.item(was.name)
        codes = tuple(self._raised(now, was, old, code) for code in range(was.codes))
        stays = all(became == code for code, became in enumerate(codes) if is_in_use(old, code))
        return Target(now.name, now.kind, None if stays else fit(codes))

    def _raised(self, now: Field, was: Field, old: Item, code: int) -> int:
        assert now.number is not None and was.number is not None
        held: Values = {was.number: (old, code if is_in_use(old, code) else old.default)}
        return raised(self.old, self.new, held, now.number, self._item(now))

    def _vacant(self, was: Field) -> tuple[int, ...]:
        return vacant_codes(self.old.product.item(was.name)) if was.kind is FieldKind.ITEM else ()

    def _standard(self, was: Field) -> int:
        """What a code counts as that the old field does not have."""
        if was.kind is FieldKind.ITEM:
            return self.old.product.item(was.name).default
        values = zip(self.was.fields, factory_values(self.old, self.was), strict=True)
        return next(value for field, value in values if field is was)

    def _constant(self, now: Field) -> int:
        if now.kind is FieldKind.ITEM:
            assert now.number is not None
            return raised(self.old, self.new, {}, now.number, self._item(now))
        return 0 if now.kind is FieldKind.MEASURED else self.usual[now]

    def _item(self, now: Field) -> Item:
        return self.new.product.item(now.name)


def today(record: OldRecord, values: Sequence[int]) -> Iterator[tuple[str, FieldKind, int]]:
    """The fields of today from the values of the old ones, as the firmware works them out."""
    for field, stored in zip(record.fields, values, strict=True):
        code = stored if stored < field.codes and stored not in field.vacant else field.standard
        for target in field.targets:
            yield target.name, target.kind, code if target.table is None else evaluate(target.table, code)
    for constant in record.constants:
        yield constant.name, constant.kind, constant.code
