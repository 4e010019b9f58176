"""Checks of a plan that outputs may pass and a release may not."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

from paramc.layout.fields import Content
from paramc.layout.knobs import set_by_knobs
from paramc.layout.layout import Kind
from paramc.layout.places import MOST_PLACES, bytes_needed
from paramc.layout.room import LARGEST_MEMORY
from paramc.layout.rules import CHECKSUM_TOO_SHORT, NOON_OUT_OF_REACH, NOTHING_TO_HOLD, WEAR_SHORT
from paramc.layout.texts import value_text
from paramc.layout.wear import (
    FEWEST_YEARS,
    cycles_a_save,
    places_for_years,
    places_of_one,
    says_no_saves,
    years,
)
from paramc.model.items import Param, Scaled, Trim, flat_of, kind_word
from paramc.model.panel import Knob
from paramc.model.product import Product
from paramc.model.readings import code_of_reading
from paramc.model.scale import HALF
from paramc.numbers import hamming
from paramc.numbers.quantity import decimal_text
from paramc.numbers.real import floor, multiply
from paramc.text.diagnostic import Diagnostic, Mark


def mends(product: Product, contents: tuple[Content, ...]) -> Iterator[Diagnostic]:
    """Every one, in the order of the rules."""
    for check in _CHECKS:
        yield from check(product, contents)


def _nothing_to_hold(product: Product, contents: tuple[Content, ...]) -> Iterator[Diagnostic]:
    held = {content.kind for content in contents}
    asked = (
        (Kind.BENCH, product.holds.bench_copies, "no trim and no knob with measured ends"),
        (Kind.SETUP, product.holds.setup_copies, "nothing that is kept once"),
    )
    for kind, copies, nothing in asked:
        if copies and kind not in held:
            yield Diagnostic(
                NOTHING_TO_HOLD,
                f"The file asks for {kind.value}, and there is {nothing}: {kind.value} gets no record.",
                product.holds.place,
                try_=f"leave {kind.value} out of holds",
                subject=kind.value,
            )


def _wear_short(product: Product, contents: tuple[Content, ...]) -> Iterator[Diagnostic]:
    chip, holds = product.chip, product.holds
    memory = _memory_that_lasts(product, contents)
    fits = bytes_needed(chip, contents) <= chip.size
    for content in contents:
        span = years(chip, content)
        if span is None or span >= FEWEST_YEARS:
            continue
        kind, places = content.kind.value, places_of_one(content)
        open_ = kind in holds.chosen and content.kind is not Kind.SETUP
        if open_ and not fits:
            # There was no room to choose in, which is another rule's word.
            continue
        because = [
            f"A save costs the hardest-worked cell {cycles_a_save(chip)} cycles, and the saves of one"
            f" {'preset' if content.kind is Kind.PRESETS else kind} spread over"
            f" {_counted(places, 'place', 'places')}.",
            f"The endurance is {_grouped(chip.endurance)} writes.",
        ]
        if says_no_saves(holds, content.kind):
            because.append(f"The file says no saves of {kind}; {content.saves} a day are common.")
        if open_:
            because.append(f"The file leaves the places of {kind} open, and no more can be had.")
        yield Diagnostic(
            WEAR_SHORT,
            f"At {_counted(content.saves, 'save', 'saves')} a day the memory of {kind} reaches its endurance"
            f" after {_years(span)}; {FEWEST_YEARS} years are the least.",
            holds.place,
            because=tuple(because),
            try_=_more_places(content, places_for_years(chip, content), chip.size, memory),
            subject=kind,
        )


def _memory_that_lasts(product: Product, contents: tuple[Content, ...]) -> int:
    """The bytes of a memory on which every kind has the places that it needs, and which is no smaller;
    where one cannot have so many, those of the others count."""
    chip = product.chip
    lasting = []
    for content in contents:
        wanted = max(content.copies, places_for_years(chip, content) + content.numbers - 1)
        lasting.append(replace(content, copies=wanted if wanted <= MOST_PLACES else content.copies))
    needed = bytes_needed(chip, lasting)
    return chip.size if needed <= chip.size else 1 << (needed - 1).bit_length()


def _more_places(content: Content, wanted: int, size: int, memory: int) -> str:
    if wanted + content.numbers - 1 > MOST_PLACES or memory > LARGEST_MEMORY:
        return "a memory of greater endurance"
    larger = f" in a memory of {memory} bytes" if memory > size else ""
    if content.kind is Kind.PRESETS:
        return f"spare {wanted - 1} for presets{larger}"
    return f"{content.kind.value} {wanted} copies{larger}"


def _checksum_too_short(product: Product, contents: tuple[Content, ...]) -> Iterator[Diagnostic]:
    chip = product.chip
    algorithm = chip.checksum
    reasons = []
    if algorithm.width == 8 and chip.page > 1:
        reasons.append(
            f"A cut can leave a page of {chip.page} bytes as garbage, and"
            f" {hamming.false_pass_text(algorithm)} such records would pass."
        )
    # A longer record never has a greater distance, so the longest one answers for all.
    longest = max(contents, key=lambda content: content.length)
    fits = longest.length <= chip.size
    if fits and hamming.distance(algorithm, 8 * (longest.length - algorithm.size)) == 2:
        reasons.append(
            f"A record of {longest.kind.value} has {longest.length} bytes; at that length two flipped bits"
            " can cancel out."
        )
    if reasons:
        yield Diagnostic(
            CHECKSUM_TOO_SHORT,
            f"The checksum {algorithm.name} is too short for these records.",
            chip.place,
            because=tuple(reasons),
            try_="checksum crc-16/ibm-3740" if algorithm.width < 16 else "checksum crc-32/iso-hdlc",
        )


def _noon_out_of_reach(product: Product, contents: tuple[Content, ...]) -> Iterator[Diagnostic]:
    for item, groups in set_by_knobs(product):
        if not isinstance(item, Param | Trim):
            continue
        for knob in (knobs[0] for knobs in groups):
            noon = item.scale.code_at(HALF)
            given = _dialled(item, knob, knob.noon)
            if given == noon:
                continue
            before = min(floor(multiply(knob.share_at(HALF), Fraction(knob.top))), knob.top - 1)
            below, above = (_dialled(item, knob, reading) for reading in (before, before + 1))
            yield Diagnostic(
                NOON_OUT_OF_REACH,
                f"Straight up, knob {_quoted(knob.label)} gives {kind_word(item)} {_quoted(item.label)}"
                f" {value_text(item, given)} and not its noon, {value_text(item, noon)}.",
                item.place,
                also=() if knob.place is None else (Mark(knob.place, "the knob"),),
                because=(
                    f"Half travel lies between the readings {before} and {before + 1} of {knob.top},"
                    f" which give {value_text(item, below)} and {value_text(item, above)}.",
                ),
                try_="a coarser grid, or a converter of more bits",
                subject=item.name,
            )


def _dialled(item: Scaled, knob: Knob, reading: int) -> int:
    return code_of_reading(item.scale, Fraction(reading, knob.top), knob.law, flat_of(item))


_CHECKS: tuple[Callable[[Product, tuple[Content, ...]], Iterator[Diagnostic]], ...] = (
    _nothing_to_hold,
    _wear_short,
    _checksum_too_short,
    _noon_out_of_reach,
)


def _counted(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"


def _quoted(label: str) -> str:
    return json.dumps(label, ensure_ascii=False)


def _years(span: Fraction) -> str:
    # Never rounded up to the limit, which it would then seem to keep.
    return f"{decimal_text(min(span, FEWEST_YEARS - Fraction(1, 10)), 1)} years"


def _grouped(number: int) -> str:
    return f"{number:,}".replace(",", " ")
