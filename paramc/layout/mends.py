"""Checks of a plan that outputs may pass and a release may not."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from fractions import Fraction

from paramc.layout.fields import Content
from paramc.layout.knobs import set_by_knobs
from paramc.layout.layout import Kind
from paramc.layout.rules import CHECKSUM_TOO_SHORT, NOON_OUT_OF_REACH, NOTHING_TO_HOLD, WEAR_SHORT
from paramc.layout.texts import value_text
from paramc.layout.wear import cycles_a_save, places_of_one, years
from paramc.model.items import Param, Trim, kind_word
from paramc.model.product import Product
from paramc.model.scale import HALF
from paramc.numbers import hamming
from paramc.numbers.quantity import decimal_text
from paramc.text.diagnostic import Diagnostic, Mark

FEWEST_YEARS = 15

MOST_PLACES = 255
"""The firmware numbers the places of a kind in one byte."""


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
                f"The file asks for {_counted(copies, 'copy', 'copies')} of {kind.value}, and there is"
                f" {nothing}: {kind.value} gets no record.",
                product.holds.place,
                try_=f"leave {kind.value} out of holds",
                subject=kind.value,
            )


def _wear_short(product: Product, contents: tuple[Content, ...]) -> Iterator[Diagnostic]:
    chip = product.chip
    for content in contents:
        span = years(chip, content)
        if span is None or span >= FEWEST_YEARS:
            continue
        kind, places = content.kind.value, places_of_one(content)
        wanted = -(-FEWEST_YEARS * places // span)
        yield Diagnostic(
            WEAR_SHORT,
            f"At {_counted(content.saves, 'save', 'saves')} a day the memory of {kind} reaches its endurance"
            f" after {_years(span)}; {FEWEST_YEARS} years are the least.",
            product.holds.place,
            because=(
                f"A save costs the hardest-worked cell {cycles_a_save(chip)} cycles, and the saves of one"
                f" {'preset' if content.kind is Kind.PRESETS else kind} spread over"
                f" {_counted(places, 'place', 'places')}.",
                f"The endurance is {_grouped(chip.endurance)} writes.",
            ),
            try_=_more_places(content, wanted),
            subject=kind,
        )


def _more_places(content: Content, wanted: int) -> str:
    if wanted + content.numbers - 1 > MOST_PLACES:
        return "a memory of greater endurance"
    if content.kind is Kind.PRESETS:
        return f"spare {wanted - 1} for presets"
    return f"{content.kind.value} {wanted} copies"


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
            below, given = (
                item.scale.code_at(Fraction(reading, knob.top)) for reading in (knob.noon - 1, knob.noon)
            )
            if given == noon:
                continue
            yield Diagnostic(
                NOON_OUT_OF_REACH,
                f"Straight up, knob {_quoted(knob.label)} gives {kind_word(item)} {_quoted(item.label)}"
                f" {value_text(item, given)} and not its noon, {value_text(item, noon)}.",
                item.place,
                also=() if knob.place is None else (Mark(knob.place, "the knob"),),
                because=(
                    f"Half travel lies between the readings {knob.noon - 1} and {knob.noon} of {knob.top},"
                    f" which give {value_text(item, below)} and {value_text(item, given)}.",
                ),
                try_="a coarser grid, or a converter of more bits",
                subject=item.name,
            )


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
