"""Support: a whole good image from a dump. Identity and trims go over as they are, or nothing is made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from paramc.image.documents import Document, NewPreset
from paramc.image.factory import FIRST_COUNTER, factory_values, put
from paramc.image.memory import Answer, Contents, Held, Number, build_of, read_memory
from paramc.image.records import encode, text_value
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout, Record


class Fate(Enum):
    """What became of one of the player's records."""

    KEPT = "kept"
    REPLACED = "replaced"
    FACTORY = "factory"  # no copy in the dump was sound


@dataclass(frozen=True, slots=True)
class Restored:
    """A whole image, and what became of everything.

    contents: the dump, as it was read. presets: a fate a slot, in order. carried: ranges of bytes
    outside all records that are as in the dump and not blank. unlike: kinds of the bench whose sound
    copies in the dump were not all alike; the newest was taken.
    """

    image: bytes
    contents: Contents
    presets: tuple[Fate, ...]
    setup: Fate | None
    state: Fate
    carried: tuple[range, ...]
    unlike: tuple[Kind, ...]


def restore_image(
    layout: Layout, memory: bytes, document: Document | None, gaps: Sequence[range] = ()
) -> Restored | tuple[str, ...]:
    """The image for the unit that a dump came from, by one layout; see restore_contents."""
    return restore_contents(read_memory(layout, memory, gaps), memory, document)


def restore_contents(
    contents: Contents, memory: bytes, document: Document | None
) -> Restored | tuple[str, ...]:
    """The image for the unit that a dump came from, or sentences on why none is made.

    contents: the dump as the image's layout reads it. memory: the whole of it, blank where the dump gave
    nothing. Identity and bench are carried over whole, the measured bits too; identity then says that the
    image's revision made the unit. The player's sound records are kept, but a slot or setting that the
    document names is as it says, and what is lost is as the factory makes it.
    """
    layout = contents.layout
    refusals = tuple(_refusals(contents))
    if refusals:
        return refusals
    image, carried = _without_records(contents, memory)
    unlike = []
    fates: dict[Kind, tuple[Fate, ...]] = {}
    for held in contents.kinds:
        if held.record.kind in LOOK:
            fates[held.record.kind] = _write_look(layout, held, document, image)
        elif _write_mirrors(layout, held, image):
            unlike.append(held.record.kind)
    return Restored(
        image=bytes(image),
        contents=contents,
        presets=fates[Kind.PRESETS],
        setup=fates[Kind.SETUP][0] if Kind.SETUP in fates else None,
        state=fates[Kind.STATE][0],
        carried=carried,
        unlike=tuple(unlike),
    )


def _refusals(contents: Contents) -> list[str]:
    layout, identity = contents.layout, contents.identity
    label, code = layout.product.label, layout.product.code
    if identity is None:
        return [
            "No copy of identity in the dump is sound, so whose serial and board this is cannot be known:"
            " it needs the record of what was shipped, or the bench."
        ]
    if identity.product_code != code:
        return [
            f"The dump is of product code 0x{identity.product_code:04X}, and the layout is of {label},"
            f" 0x{code:04X}."
        ]
    if not contents.made_by_layout:
        return [
            f"The unit was made by {identity.build}, and the layout is of {build_of(layout)}: the layout of"
            " that build is needed."
        ]
    found = []
    boards = layout.product.boards
    if boards and identity.hardware is not None and identity.hardware not in boards:
        found.append(
            f"The unit's board is not one that revision {layout.product.revision} fits, which are"
            f" {', '.join(boards.values())}."
        )
    bench = contents.held(Kind.BENCH)
    if bench is not None and bench.numbers[0].values is None:
        found.append(
            "No copy of the trims in the dump is sound, and trims cannot be made up: it needs the record of"
            " what was shipped, or the bench."
        )
    for held in contents.kinds:
        for number in held.numbers:
            saved = number.answer in (Answer.OLDER, Answer.NEWER) and number.values is None
            if held.record.kind in LOOK and saved:
                assert number.reading is not None
                found.append(
                    f"{_called(held.record, number)} was saved by revision {number.reading.revision}, which"
                    " this layout cannot read: the release of that revision is needed."
                )
    return found


def _called(record: Record, number: Number) -> str:
    return f"Preset {number.number + 1}" if record.kind is Kind.PRESETS else record.kind.value.capitalize()


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


def _write_mirrors(layout: Layout, held: Held, image: bytearray) -> bool:
    """Writes identity or bench to all its places; whether sound copies in the dump differed."""
    newest = held.numbers[0].reading
    assert newest is not None
    sound = [place for place in held.places if place.values]
    alike = {place.address: place.counter for place in sound if place.values == newest.values}
    values = tuple(
        layout.fingerprint if field.kind is FieldKind.FINGERPRINT else value
        for field, value in zip(held.record.fields, newest.values, strict=True)
    )
    for address in held.record.places:
        # A copy that holds the same already keeps its counter, and with it every byte.
        put(image, address, encode(layout, held.record, address, alike.get(address, newest.counter), values))
    return len(alike) < len(sound)


def _write_look(
    layout: Layout, held: Held, document: Document | None, image: bytearray
) -> tuple[Fate, ...]:
    """Writes one kind of the player's, number i to place i; what became of each."""
    fates = []
    for number, address in zip(held.numbers, held.record.places, strict=False):
        kept = number.values
        values = factory_values(layout, held.record, number.number) if kept is None else kept
        asked = None if document is None else _asked(layout, held.record, number, values, document)
        counter = FIRST_COUNTER if number.reading is None else number.reading.counter
        put(image, address, encode(layout, held.record, address, counter, asked or values))
        fates.append(Fate.REPLACED if asked else Fate.FACTORY if kept is None else Fate.KEPT)
    return tuple(fates)


def _asked(
    layout: Layout, record: Record, number: Number, base: tuple[int, ...], document: Document
) -> tuple[int, ...] | None:
    """The values that a document asks for; None where it does not speak of this record."""
    if record.kind is Kind.PRESETS:
        new = next((preset for preset in document.presets if preset.slot == number.number), None)
        return None if new is None else _preset_values(layout, record, new)
    if record.kind is Kind.SETUP and document.setup:
        said = dict(document.setup)
        return tuple(said.get(field.name, value) for field, value in zip(record.fields, base, strict=True))
    return None


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
