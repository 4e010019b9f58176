"""Support: a whole good image for a unit. Identity and trims go over as they are, or nothing is made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import Enum

from paramc.frozen import dataclass
from paramc.image.documents import Document, NewPreset
from paramc.image.factory import FIRST_COUNTER, factory_values, put
from paramc.image.memory import (
    Answer,
    Contents,
    Held,
    Number,
    build_of,
    identities,
    identity_of,
    newest,
    read_memory,
)
from paramc.image.records import Reading, State, encode, text_value
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout, Record


class Fate(Enum):
    """What became of one of the player's records."""

    KEPT = "kept"
    REPLACED = "replaced"  # as the document says
    MOVED = "moved"  # from the dump of another unit
    RESET = "reset"  # as the factory makes it, because that was asked for
    FACTORY = "factory"  # as the factory makes it, because no copy was sound


class Origin(Enum):
    """Where identity or trims come from."""

    DUMP = "dump"
    LOG = "log"  # the record of what was shipped


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to become of the player's records; by itself: all that is sound is kept.

    document: what it names is as it says. factory: everything is as the factory makes it. look: everything
    is as in the dump of another unit. slots: the slots that one of these is for, from 0, and then nothing
    else is touched; None for all. At most one of the three is given.
    """

    document: Document | None = None
    factory: bool = False
    look: Contents | None = None
    slots: frozenset[int] | None = None


@dataclass(frozen=True, slots=True)
class Restored:
    """A whole image, and what became of everything.

    contents: the dump, as it was read. identity, bench: where they come from; bench None where the product
    has none. presets: a fate a slot, in order. carried: ranges of bytes outside all records that are as in
    the dump and not blank. unlike: kinds of the bench whose sound copies in the dump were not all alike;
    the newest was taken.
    """

    image: bytes
    contents: Contents
    identity: Origin
    bench: Origin | None
    presets: tuple[Fate, ...]
    setup: Fate | None
    state: Fate
    carried: tuple[range, ...]
    unlike: tuple[Kind, ...]


@dataclass(frozen=True, slots=True)
class _Mirror:
    """A record of the bench to write to all its places. counters: of places that hold the same already."""

    origin: Origin
    reading: Reading
    counters: dict[int, int]
    unlike: bool


def restore_image(
    layout: Layout, memory: bytes, document: Document | None, gaps: Sequence[range] = ()
) -> Restored | tuple[str, ...]:
    """The image for the unit that a dump came from, by one layout; see restore_contents."""
    return restore_contents(read_memory(layout, memory, gaps), memory, Wish(document))


def restore_contents(
    contents: Contents,
    memory: bytes,
    wish: Wish,
    shipped: Contents | None = None,
    serial: str | None = None,
) -> Restored | tuple[str, ...]:
    """The image for the unit that a dump came from, or sentences on why none is made.

    contents: the dump as the image's layout reads it. memory: the whole of it, blank where the dump gave
    nothing. shipped: the unit's memory as it left the house, read by the same layout; it gives identity and
    bench where no copy of them is sound. serial: the unit's, where the dump does not say it alone. Identity
    and bench go over whole, the measured bits too; identity then says that the image's revision made the
    unit. Of the player's records what is sound and not wished otherwise is kept, and what is lost is as the
    factory makes it.
    """
    refusals = tuple(dict.fromkeys(_refusals(contents, wish, shipped, serial)))
    if refusals:
        return refusals
    layout = contents.layout
    image, carried = _without_records(contents, memory)
    mirrors: dict[Kind, _Mirror] = {}
    fates: dict[Kind, tuple[Fate, ...]] = {}
    for held in contents.kinds:
        kind = held.record.kind
        if kind in LOOK:
            fates[kind] = _write_look(layout, held, wish, image)
        else:
            mirror = _mirror(contents, held, shipped, serial)
            assert mirror is not None
            _write_mirrors(layout, held.record, mirror, image)
            mirrors[kind] = mirror
    return Restored(
        image=bytes(image),
        contents=contents,
        identity=mirrors[Kind.IDENTITY].origin,
        bench=mirrors[Kind.BENCH].origin if Kind.BENCH in mirrors else None,
        presets=fates[Kind.PRESETS],
        setup=fates[Kind.SETUP][0] if Kind.SETUP in fates else None,
        state=fates[Kind.STATE][0],
        carried=carried,
        unlike=tuple(kind for kind, mirror in mirrors.items() if mirror.unlike),
    )


# ---- what keeps an image from being made


def _refusals(
    contents: Contents, wish: Wish, shipped: Contents | None, serial: str | None
) -> Iterator[str]:
    layout, identity = contents.layout, contents.identity
    label, code = layout.product.label, layout.product.code
    if identity is not None and identity.product_code != code:
        yield (
            f"The dump is of product code 0x{identity.product_code:04X}, and the layout is of {label},"
            f" 0x{code:04X}."
        )
        return
    if contents.at_odds:
        assert identity is not None
        yield (
            f"The unit was made by {identity.build}, and the layout is of {build_of(layout)}: the layout of"
            " that build is needed."
        )
        return
    serials = sorted({said for _, said in identities(contents)})
    if serial is not None and serials and serial not in serials:
        yield f"The dump is of the unit with serial {' or '.join(serials)}, and serial {serial} is asked for."
        return
    if serial is None and len(serials) > 1:
        yield (
            f"Sound copies of identity name different units, {' and '.join(serials)}, and records of two"
            " units cannot be told apart: say which unit it is by its serial, or read it again."
        )
        return
    yield from _lost(contents, shipped, serial)
    for held in contents.kinds:
        if held.record.kind in LOOK:
            for number in held.numbers:
                yield from _unreadable(held.record, number, wish)


def _lost(contents: Contents, shipped: Contents | None, serial: str | None) -> Iterator[str]:
    """What of identity and bench nobody knows, and boards that do not fit."""
    layout = contents.layout
    for held in contents.kinds:
        kind = held.record.kind
        if kind in LOOK:
            continue
        number = held.numbers[0]
        mirror = _mirror(contents, held, shipped, serial)
        if mirror is not None:
            if kind is Kind.IDENTITY:
                yield from _board(layout, mirror.reading)
        elif number.reading is not None:
            yield _needs(held.record, number)
        elif kind is Kind.IDENTITY:
            yield (
                "No copy of identity in the dump is sound, so whose serial and board this is cannot be"
                " known: it needs the record of what was shipped, --log LOG, or the bench."
            )
        else:
            yield (
                "No copy of the trims in the dump is sound, and trims cannot be made up: it needs the record"
                " of what was shipped, --log LOG, or the bench."
            )


def _board(layout: Layout, identity: Reading) -> Iterator[str]:
    boards, hardware = layout.product.boards, identity_of(layout, identity).hardware
    if boards and hardware is not None and hardware not in boards:
        yield (
            f"The unit's board is not one that revision {layout.product.revision} fits, which are"
            f" {', '.join(boards.values())}."
        )


def _unreadable(record: Record, own: Number, wish: Wish) -> Iterator[str]:
    """Whether what would be kept of a number was saved by a revision that is not at hand."""
    number, asked = _source(record, own, wish)
    if not asked and number.answer in (Answer.OLDER, Answer.NEWER) and number.values is None:
        yield _needs(record, number)


def _needs(record: Record, number: Number) -> str:
    assert number.reading is not None
    called = f"Preset {number.number + 1}" if record.kind is Kind.PRESETS else record.kind.value.capitalize()
    return (
        f"{called} was saved by revision {number.reading.revision}, which this layout cannot read: the"
        " release of that revision is needed."
    )


# ---- identity and bench


def _mirror(
    contents: Contents, held: Held, shipped: Contents | None, serial: str | None
) -> _Mirror | None:
    """What identity or bench is to hold; None where nothing is known of it."""
    sound = [place for place in held.places if place.values and place.state is not State.FOREIGN]
    if held.record.kind is Kind.IDENTITY:
        sound = [place for place, said in identities(contents) if serial in (None, said)]
        reading = newest(sound)
    else:
        number = held.numbers[0]
        reading = number.reading if number.values is not None else None
        if number.reading is not None and reading is None:
            return None  # a record that cannot be read here is not one that was lost
    if reading is not None:
        alike = {place.address: place.counter for place in sound if place.values == reading.values}
        return _Mirror(Origin.DUMP, reading, alike, len(alike) < len(sound))
    given = None if shipped is None else shipped.held(held.record.kind)
    reading = None if given is None else given.numbers[0].reading
    if reading is None or not reading.values:
        return None
    return _Mirror(Origin.LOG, reading, {}, False)


def _write_mirrors(layout: Layout, record: Record, mirror: _Mirror, image: bytearray) -> None:
    """Writes identity or bench to all its places."""
    values = tuple(
        layout.fingerprint if field.kind is FieldKind.FINGERPRINT else value
        for field, value in zip(record.fields, mirror.reading.values, strict=True)
    )
    for address in record.places:
        # A copy that holds the same already keeps its counter, and with it every byte.
        counter = mirror.counters.get(address, mirror.reading.counter)
        put(image, address, encode(layout, record, address, counter, values))


# ---- the player's


def _without_records(contents: Contents, memory: bytes) -> tuple[bytearray, tuple[range, ...]]:
    """The memory with every place of every revision erased, and what of the rest is not."""
    blank = contents.layout.product.chip.blank
    image = bytearray(memory)
    for layout in (contents.layout, *contents.at_hand):
        for record in layout.records:
            for address in record.places:
                put(image, address, bytes((blank,)) * record.place_bytes)
    carried: list[range] = []
    for at, byte in enumerate(image):
        if byte != blank:
            if carried and carried[-1].stop == at:
                carried[-1] = range(carried[-1].start, at + 1)
            else:
                carried.append(range(at, at + 1))
    return image, tuple(carried)


def _write_look(layout: Layout, held: Held, wish: Wish, image: bytearray) -> tuple[Fate, ...]:
    """Writes one kind of the player's, number i to place i; what became of each."""
    record = held.record
    fates = []
    for own, address in zip(held.numbers, record.places, strict=False):
        source, asked = _source(record, own, wish)
        values = source.values or factory_values(layout, record, own.number)
        fate = Fate.FACTORY if source.values is None else Fate.KEPT if source is own else Fate.MOVED
        if asked:
            new = _asked(layout, record, own.number, values, wish.document)
            fate = Fate.RESET if new is None else Fate.REPLACED
            values = new or factory_values(layout, record, own.number)
        counter = FIRST_COUNTER if own.reading is None else own.reading.counter
        put(image, address, encode(layout, record, address, counter, values))
        fates.append(fate)
    return tuple(fates)


def _source(record: Record, own: Number, wish: Wish) -> tuple[Number, bool]:
    """The number that a record is taken from, and whether it is asked to be otherwise all the same."""
    slot = own.number if record.kind is Kind.PRESETS else None
    if wish.slots is not None and slot not in wish.slots:
        return own, False
    if wish.factory:
        return own, True
    if wish.look is not None:
        other = wish.look.held(record.kind)
        assert other is not None
        return other.numbers[own.number], False
    document = wish.document
    if document is None:
        return own, False
    if slot is None:
        return own, record.kind is Kind.SETUP and bool(document.setup)
    return own, any(preset.slot == slot for preset in document.presets)


def _asked(
    layout: Layout, record: Record, slot: int, base: tuple[int, ...], document: Document | None
) -> tuple[int, ...] | None:
    """The values that a document asks for, which speaks of this record; None without a document."""
    if document is None:
        return None
    if record.kind is Kind.PRESETS:
        [new] = (preset for preset in document.presets if preset.slot == slot)
        return _preset_values(layout, record, new)
    said = dict(document.setup)
    return tuple(said.get(field.name, value) for field, value in zip(record.fields, base, strict=True))


def _preset_values(layout: Layout, record: Record, new: NewPreset) -> tuple[int, ...]:
    """One value a field of a preset's record; without a name it has none."""
    names = [item.name for item in layout.product.per_preset]
    values = []
    for field in record.fields:
        match field.kind:
            case FieldKind.ITEM:
                values.append(new.codes[names.index(field.name)])
            case FieldKind.NAME:
                values.append(text_value((new.name or "").encode(), field, record.order))
            case _:
                values.append(new.slot)
    return tuple(values)
