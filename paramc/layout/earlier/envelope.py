"""What the first release fixes for good: where records lie, how long they are, and their checksum."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final, assert_never

from paramc.check.words import counted, listed
from paramc.layout.earlier.rules import ENVELOPE_CHANGED, GROWTH_SPENT
from paramc.layout.earlier.things import Earlier
from paramc.layout.fields import Content
from paramc.layout.layout import HEAD_BYTES, Field, FieldKind, Kind, Record
from paramc.layout.room import does_not_fit
from paramc.layout.rules import DOES_NOT_FIT
from paramc.model.product import Chip, Holds, Product
from paramc.numbers.crc import CATALOGUE, Algorithm
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Span

_COPIES: Final[Mapping[Kind, str]] = {
    Kind.IDENTITY: "identity_copies",
    Kind.BENCH: "bench_copies",
    Kind.SETUP: "setup_copies",
    Kind.STATE: "state_copies",
}
def _called(algorithm: Algorithm) -> str:
    """A checksum by its name in the catalogue, whether or not the file wrote its numbers out."""

    def numbers(one: Algorithm) -> tuple[int, ...]:
        return one.width, one.poly, one.init, one.reflected, one.xorout

    names = (name for name, one in CATALOGUE.items() if numbers(one) == numbers(algorithm))
    return next(names, algorithm.name)


_FIXED_OF_CHIP: Final[tuple[Callable[[Chip], str], ...]] = (
    lambda chip: f"size {counted(chip.size, 'byte')}",
    lambda chip: f"page {counted(chip.page, 'byte')}",
    lambda chip: f"order {chip.order.value}",
    lambda chip: f"blank 0x{chip.blank:02X}",
    lambda chip: f"hex at 0x{chip.hex_at:X}",
    lambda chip: f"leave first {counted(chip.leave_first, 'byte')}",
    lambda chip: f"checksum {_called(chip.checksum)}",
)
"""What a chip has for good, as a file writes it."""

_FIXED_OF_HOLDS: Final[tuple[tuple[Kind, Callable[[Holds], str]], ...]] = (
    (Kind.IDENTITY, lambda holds: f"identity serial {counted(holds.serial_characters, 'character')}"),
    (Kind.BENCH, lambda holds: f"bench growth {counted(holds.bench_growth, 'byte')}"),
    (Kind.SETUP, lambda holds: f"setup growth {counted(holds.setup_growth, 'byte')}"),
    (Kind.PRESETS, lambda holds: f"presets growth {counted(holds.preset_growth, 'byte')}"),
    (Kind.STATE, lambda holds: f"state growth {counted(holds.state_growth, 'byte')}"),
    (Kind.PRESETS, lambda holds: f"presets {counted(holds.preset_slots, 'slot')}"),
    (Kind.PRESETS, lambda holds: f"presets names {counted(holds.preset_names, 'byte')}"),
)
"""And what a kind of record has."""


def fixed_records(past: Earlier) -> dict[Kind, Record]:
    """For each kind that a release has its records as the latest one has them: an envelope only grows."""
    return {record.kind: record for layout in past.layouts for record in layout.records}


def with_counts(product: Product, past: Earlier) -> Product:
    """The product with as many places as the releases have of each kind whose number its file leaves open."""
    fixed = fixed_records(past)
    holds = product.holds
    for kind in [kind for kind in fixed if kind.value in holds.chosen]:
        places = len(fixed[kind].places)
        holds = replace(holds, chosen=tuple(word for word in holds.chosen if word != kind.value))
        match kind:
            case Kind.IDENTITY:
                holds = replace(holds, identity_copies=places)
            case Kind.BENCH:
                holds = replace(holds, bench_copies=places)
            case Kind.SETUP:
                holds = replace(holds, setup_copies=places)
            case Kind.PRESETS:
                holds = replace(holds, preset_spare=max(places - holds.preset_slots, 0))
            case Kind.STATE:
                holds = replace(holds, state_copies=places)
            case other:
                assert_never(other)
    return replace(product, holds=holds)


# ---- what changed


def changed(product: Product, past: Earlier) -> Iterator[Diagnostic]:
    """A stop for each part of the envelope that the file has otherwise than the releases."""
    latest = past.layouts[-1].product
    since = latest.revision
    if product.code != latest.code:
        yield _stop(
            f"The code is 0x{product.code:04X}, and revision {since} has 0x{latest.code:04X}.",
            product.place,
            f"code 0x{latest.code:04X}; a new product has a name of its own too",
        )
    for of_chip in _FIXED_OF_CHIP:
        now, was = of_chip(product.chip), of_chip(latest.chip)
        if now != was:
            yield _stop(f"The chip has {now}, and revision {since} has {was}.", product.chip.place, was)
    fixed = fixed_records(past)
    for kind, of_holds in _FIXED_OF_HOLDS:
        owner = next((one.product for one in reversed(past.layouts) if one.record(kind)), None)
        # Where nothing stands in a kind any more its words in holds are gone with it.
        if owner is None or _copies(product.holds, kind) == 0:
            continue
        now, was = of_holds(product.holds), of_holds(owner.holds)
        if now != was:
            sentence = f"The file has {now}, and revision {owner.revision} has {was}."
            yield _stop(sentence, product.holds.place, was)
    for kind, record in fixed.items():
        places, before = _copies(product.holds, kind), len(record.places)
        if 0 < places < before:
            less = f"{counted(places, 'place')} of {kind.value}, and the releases have {before}"
            words = f"presets spare {before - product.holds.preset_slots}" if kind is Kind.PRESETS else (
                f"{kind.value} {counted(before, 'copy')}"
            )
            yield _stop(f"The file has {less}.", product.holds.place, words)


def _stop(sentence: str, place: Span | None, write: str) -> Diagnostic:
    return Diagnostic(ENVELOPE_CHANGED, sentence, place, try_=write)


def _copies(holds: Holds, kind: Kind) -> int:
    if kind is Kind.PRESETS:
        return holds.preset_slots + holds.preset_spare
    number: int = getattr(holds, _COPIES[kind])
    return number


# ---- lengths


def within(needed: Iterable[Content], past: Earlier) -> tuple[Content, ...]:
    """Each kind as long as the releases have it. Growth is what is left then, below zero where it is not
    enough."""
    fixed = fixed_records(past)
    return tuple(
        replace(
            content,
            length=fixed[content.kind].length,
            growth=content.growth + fixed[content.kind].length - content.length,
        )
        if content.kind in fixed
        else content
        for content in needed
    )


# ---- room


def too_much(product: Product, needed: tuple[Content, ...], past: Earlier) -> tuple[Diagnostic, ...]:
    """What does not fit: fields into their records, records into the memory."""
    if not past.layouts:
        over = does_not_fit(product, needed)
        return () if over is None else (over,)
    return (*_spent(product, needed, past), *_added(product, needed, past))


def _added(product: Product, needed: Iterable[Content], past: Earlier) -> Iterator[Diagnostic]:
    """A stop where what is added behind the places of the releases reaches over the memory's end."""
    chip, fixed = product.chip, fixed_records(past)
    ends = max(record.end for record in fixed.values())
    total = -(-ends // chip.page) * chip.page
    sums = []
    for content in needed:
        more = content.copies - (len(fixed[content.kind].places) if content.kind in fixed else 0)
        size = content.place_bytes(chip.page)
        total += more * size
        if more:
            sums.append(
                f"For {content.kind.value}: {counted(more, 'place')} more x {counted(size, 'byte')} ="
                f" {counted(more * size, 'byte')}."
            )
    if total > chip.size:
        yield Diagnostic(
            DOES_NOT_FIT,
            f"The memory has {counted(chip.size, 'byte')} and {total} are needed:"
            f" {total - chip.size} too many.",
            product.holds.place,
            because=(
                f"The places of the releases end at byte {ends}, and what is added stands behind.",
                *sums,
            ),
            try_="Add fewer places or kinds; a larger memory is another product.",
        )


def _spent(product: Product, needed: Iterable[Content], past: Earlier) -> Iterator[Diagnostic]:
    """A stop for each kind whose fields do not fit any more. State has every field of a preset, so of these
    two the one that lacks more is told for both."""
    over = [content for content in needed if content.growth < 0]
    shared = [content for content in over if content.kind in (Kind.PRESETS, Kind.STATE)]
    for content in over:
        if content not in shared:
            yield _too_long(product, content, past)
    if shared:
        worst = max(shared, key=lambda content: _bits(content) - _room(content))
        others = tuple(content for content in shared if content is not worst)
        yield _too_long(product, worst, past, others)


def _bits(content: Content) -> int:
    return sum(field.width for field in content.fields)


def _room(content: Content) -> int:
    """The bits that the fields of a record may take."""
    return _bits(content) + -(8 * HEAD_BYTES + _bits(content)) % 8 + 8 * content.growth


def _too_long(
    product: Product, content: Content, past: Earlier, others: tuple[Content, ...] = ()
) -> Diagnostic:
    record, kind = fixed_records(past)[content.kind], content.kind.value
    bits, room = _bits(content), _room(content)
    old = {field.number for field in record.fields}
    fresh = [field for field in content.fields if field.number is not None and field.number not in old]
    wider = [field for field in content.fields if _grew(field, record)]
    return Diagnostic(
        GROWTH_SPENT,
        f"A record of {kind} needs {counted(content.length - content.growth, 'byte')}, and the releases fixed"
        f" {content.length}: {-content.growth} too many.",
        product.holds.place,
        because=(
            f"Its fields take {counted(bits, 'bit')}, and there is room for {room}.",
            *_bits_of("New are", fresh),
            *_bits_of("Wider than before are", wider),
            *(
                f"The same fields in {one.kind.value} are {counted(-one.growth, 'byte')} too many there."
                for one in others
            ),
        ),
        try_="; or ".join(_ways_out(content, [*fresh, *wider], bits - room)),
        subject=kind,
    )


def _grew(field: Field, record: Record) -> bool:
    return any(
        was.number == field.number and was.kind is field.kind and was.width < field.width
        for was in record.fields
        if was.number is not None
    )


def _bits_of(what: str, fields: Sequence[Field]) -> Iterator[str]:
    if fields:
        bits = [f"{field.name} of {counted(field.width, 'bit')}" for field in fields]
        yield f"{what} {listed(bits)}."


def _ways_out(content: Content, more: Sequence[Field], over: int) -> Iterator[str]:
    """What frees at least so many bits."""
    wide = [field for field in more if field.width > over and field.kind is FieldKind.ITEM]
    if wide:
        field = max(wide, key=lambda one: one.width)
        yield f"a coarser grid in {field.name}: {over} of its {counted(field.width, 'bit')} are too many"
    if more:
        yield f"leave out {listed(field.name for field in more)}"
    yield f"retire items of {content.kind.value} that nobody needs, {counted(over, 'bit')} in all"
    yield "a new product with a code and a name of its own"
