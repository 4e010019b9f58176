"""One record of a revision as a record of another, up or down, and what became of each value.

An old code means the value it meant in its own revision. Things are known by their permanent numbers, ways
by their names; what one of the two does not have is what the later one says of it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping, Sequence
from enum import Enum

from paramc.frozen import dataclass
from paramc.image.codes import code_text
from paramc.image.factory import factory_values
from paramc.layout.layout import Field, FieldKind, Kind, Layout, Record
from paramc.model.carry import Carried, Fit, carried
from paramc.model.history import Since
from paramc.model.items import Item, Selector, Trim, is_in_use


class Fate(Enum):
    """What became of a value."""

    SAME = "same"  # it means what it meant
    NEAREST = "nearest"  # the nearest that there is, or the way that took its part
    LOST = "lost"  # nothing there means it; what stands there now is said beside it
    NEW = "new"  # there was none; it is what the revision says of units without it


@dataclass(frozen=True, slots=True)
class Moved:
    """A value on its way. item: its name in the revision that has it, the new one where both have. was, now:
    as a person writes them; None where the revision has no such thing."""

    item: str
    was: str | None
    now: str | None
    fate: Fate


def become(was: Item, item: Item, code: int, *, narrows: bool) -> tuple[int, Fate]:
    """What a code of an item is in another revision. narrows: whether a value outside its range may become
    the nearest in it."""
    now = carried(was, item, code) or Carried(item.default, Fit.LOST)
    fate = Fate(now.fit.value)
    return now.code, Fate.NEAREST if fate is Fate.LOST and narrows else fate


Values = Mapping[int, tuple[Item, int]]
"""By permanent number an item and its code."""


def move(
    old: Layout, new: Layout, kind: Kind, values: Sequence[int], number: int
) -> tuple[tuple[int, ...], tuple[Moved, ...]]:
    """The values of a record of one revision as those of another, one a field, and what became of them.

    values: one a field of the old record, () where the old revision has none of that kind. number: which
    of the kind's records it is. Both are revisions of one product, and the new one has the kind.
    """
    target = new.record(kind)
    assert target is not None
    source = old.record(kind)
    if old is new:
        return tuple(values), ()
    fields = () if source is None else source.fields
    stored = dict(zip(((field.number, field.kind) for field in fields), values, strict=True))
    held = _held(old, fields, values)
    later = old.product.revision > new.product.revision
    way = _Down(old, new, held) if later else _Up(old, new, held)
    factory = factory_values(new, target, number)
    found = tuple(
        _value(way, field, stored, standard, fields)
        for field, standard in zip(target.fields, factory, strict=True)
    )
    told = (*way.told, *way.left_behind(target))
    return _settled(target, found, way.unmeasured), told


def _held(layout: Layout, fields: Sequence[Field], values: Sequence[int]) -> Values:
    held = {}
    for field, code in zip(fields, values, strict=True):
        if field.kind is FieldKind.ITEM and field.number is not None:
            item = layout.product.item(field.name)
            # A code that is not in use played as the default.
            held[field.number] = (item, code if is_in_use(item, code) else item.default)
    return held


class _Move(ABC):
    """The items of one record on their way. told: what became of each. unmeasured: the numbers of trims and
    ends that are nominal now."""

    def __init__(self, old: Layout, new: Layout, held: Values) -> None:
        self.old, self.new, self.held = old, new, held
        self.told: list[Moved] = []
        self.unmeasured: set[int] = set()

    def item(self, number: int, item: Item) -> int:
        """The code of an item in the new revision."""
        known = self.held.get(number)
        if known is None:
            code, was, fate = self.missing(number, item)
            if isinstance(item, Trim):
                self.unmeasured.add(number)
            self.told.append(Moved(item.name, was, code_text(item, code), fate))
            return code
        old, stored = known
        code, fate = become(old, item, stored, narrows=self.narrows(item))
        if fate is Fate.LOST and isinstance(item, Trim):
            # A measured value that cannot be held is no measured value any more.
            code = item.nominal
            self.unmeasured.add(number)
        self.told.append(Moved(item.name, code_text(old, stored), code_text(item, code), fate))
        return code

    def left_behind(self, target: Record) -> Iterator[Moved]:
        """The values that the new revision has no place for and that nothing else accounts for."""
        kept = {field.number for field in target.fields}
        for number, (item, code) in self.held.items():
            if number not in kept and not self.accounted(number, item, code):
                yield Moved(item.name, code_text(item, code), None, Fate.LOST)

    @abstractmethod
    def narrows(self, item: Item) -> bool:
        """Whether the maker allowed values outside the range to become the nearest."""

    @abstractmethod
    def missing(self, number: int, item: Item) -> tuple[int, str | None, Fate]:
        """The code of an item that the old revision does not have, and what it was there."""

    @abstractmethod
    def accounted(self, number: int, item: Item, code: int) -> bool:
        """Whether the new revision sounds the same without a value."""


class _Up(_Move):
    """To a later revision, which says what units without its new items sound like."""

    def narrows(self, item: Item) -> bool:
        return item.history.narrowed

    def missing(self, number: int, item: Item) -> tuple[int, str | None, Fate]:
        since = item.history.since_before(self.old.product.revision)
        if since is None:
            return item.default, None, Fate.NEW
        known = None if since.number is None else self.held.get(since.number)
        if known is not None:
            decider, code = known
            assert isinstance(decider, Selector)
            way = decider.way(code).name
            became = _turned_into(since, way)
            if became is not None:
                return became, f"{decider.name} {way}", Fate.SAME
        return item.default if since.formerly is None else since.formerly, None, Fate.NEW

    def accounted(self, number: int, item: Item, code: int) -> bool:
        revision = self.old.product.revision
        answers = (one.history.since_before(revision) for one in self.new.product.items)
        return any(since is not None and since.number == number for since in answers)


def raised(old: Layout, new: Layout, held: Values, number: int, item: Item) -> int:
    """The code of an item in a later revision, from what a record of the earlier one holds of it, or of the
    retired selector that decides it; held may leave out everything else."""
    return _Up(old, new, held).item(number, item)


class _Down(_Move):
    """To an earlier revision: the later one's own history, read backwards."""

    def narrows(self, item: Item) -> bool:
        return False

    def missing(self, number: int, item: Item) -> tuple[int, str | None, Fate]:
        """A selector that was split is put together from what it was split into."""
        parts = [
            (one, since, code)
            for one, code in self.held.values()
            for since in [one.history.since_before(self.new.product.revision)]
            if since is not None and since.number == number
        ]
        if not parts or not isinstance(item, Selector):
            return item.default, None, Fate.NEW
        was = ", ".join(f"{one.name} {code_text(one, code)}" for one, _, code in parts)
        answers = [
            (sum(_turned_into(since, way.name) == code for _, since, code in parts), place)
            for place, way in zip(item.places, item.ways, strict=True)
        ]
        most = max(count for count, _ in answers)
        if most == 0:
            return item.default, was, Fate.LOST
        place = next(place for count, place in answers if count == most)
        return place, was, Fate.SAME if most == len(parts) else Fate.LOST

    def accounted(self, number: int, item: Item, code: int) -> bool:
        since = item.history.since_before(self.new.product.revision)
        if since is None or isinstance(item, Trim):
            return False
        if since.number is not None:
            return True  # told of the selector that it is put together to
        return code == (item.default if since.formerly is None else since.formerly)


def _turned_into(since: Since, way: str) -> int | None:
    return next((became.code for became in since.became if became.way == way), None)


def _value(
    way: _Move,
    field: Field,
    stored: Mapping[tuple[int | None, FieldKind], int],
    standard: int,
    fields: Sequence[Field],
) -> int:
    """The value of one field of the new record. standard: as the factory has it."""
    match field.kind:
        case FieldKind.ITEM:
            assert field.number is not None
            return way.item(field.number, way.new.product.item(field.name))
        case FieldKind.FINGERPRINT | FieldKind.TRIAL:
            return standard
        case FieldKind.END_LOW | FieldKind.END_HIGH | FieldKind.MEASURED:
            same = any(
                was.number == field.number and was.kind is field.kind and was.codes == field.codes
                for was in fields
            )
            if same:
                return stored[field.number, field.kind]
            assert field.number is not None
            way.unmeasured.add(field.number)  # another converter counts otherwise
            return standard
        case FieldKind.LAST_PRESET | FieldKind.ENGAGED:
            value = stored.get((None, field.kind), standard)
            return value if value < field.codes else standard
        case _:
            return stored.get((None, field.kind), standard)


def _settled(target: Record, values: tuple[int, ...], unmeasured: set[int]) -> tuple[int, ...]:
    """The values without a measured bit at what is nominal."""
    return tuple(
        0 if field.kind is FieldKind.MEASURED and field.number in unmeasured else value
        for field, value in zip(target.fields, values, strict=True)
    )
