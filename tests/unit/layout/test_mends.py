"""What a release must mend or accept: wear, short checksums, and kinds that hold nothing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from paramc.layout.fields import contents
from paramc.layout.layout import Kind
from paramc.layout.plan import plan
from paramc.layout.rules import CHECKSUM_TOO_SHORT, NOON_OUT_OF_REACH, NOTHING_TO_HOLD, WEAR_SHORT
from paramc.layout.wear import years
from paramc.model.product import Chip, Product
from paramc.model.scale import Coded, Grid, Law, Scale, SCurve, Stepped, Straight, ThreePoint
from paramc.numbers import hamming
from paramc.numbers.crc import CATALOGUE
from paramc.numbers.quantity import decimal_text
from paramc.numbers.units import SPELLINGS
from paramc.text.diagnostic import Diagnostic, Rule, Severity
from paramc.text.source import Source, Span
from tests.unit.layout.products import CRC_16, doorbell, knob, open_mode, param, product, teasel_pinch


def met(of: Product, rule: Rule) -> list[Diagnostic]:
    return [found for found in plan(of).diagnostics if found.rule is rule]


def test_the_examples_need_no_mending() -> None:
    assert plan(doorbell()).diagnostics == ()
    assert plan(teasel_pinch()).diagnostics == ()


# ---- wear


@pytest.mark.parametrize(("places", "said"), [(2, "6.8"), (3, "10.3"), (4, "13.7"), (5, "17.1")])
def test_years_of_a_ring(places: int, said: str) -> None:
    """The figures that the saving order was chosen by: 100 000 cycles, 40 saves a day."""
    of = doorbell()
    of = replace(of, holds=replace(of.holds, state_copies=places, state_saves=40))
    span = years(of.chip, contents(of)[-1])
    assert span is not None and decimal_text(span, 1) == said


def test_all_saves_on_one_preset_spread_over_its_place_and_the_spare_ones() -> None:
    of = doorbell()
    of = replace(of, holds=replace(of.holds, preset_slots=30, preset_spare=2, preset_saves=40))
    assert years(of.chip, contents(of)[-2]) == Fraction(100_000 * 3, 40 * 2 * 365)


def test_a_part_that_cycles_pages_wears_three_cycles_a_save() -> None:
    of = doorbell()
    paged = replace(of, chip=replace(of.chip, size=4096, page=32))
    by_byte, by_page = years(of.chip, contents(of)[-1]), years(paged.chip, contents(paged)[-1])
    assert by_byte is not None and by_page is not None
    assert by_byte / by_page == Fraction(3, 2)


def test_what_the_player_never_saves_never_wears_out() -> None:
    of = doorbell()
    kinds = {content.kind: years(of.chip, content) for content in contents(of)}
    assert kinds[Kind.IDENTITY] is kinds[Kind.BENCH] is None
    assert None not in (kinds[Kind.SETUP], kinds[Kind.PRESETS], kinds[Kind.STATE])


def test_saves_that_are_not_said_are_those_that_are_common() -> None:
    of = replace(teasel_pinch(), chip=replace(teasel_pinch().chip, endurance=20_000))
    unsaid = replace(of, holds=replace(of.holds, setup_saves=0, preset_saves=0, state_saves=0))
    common = replace(of, holds=replace(of.holds, setup_saves=1, preset_saves=10, state_saves=30))
    spans = [[years(it.chip, content) for content in contents(it)] for it in (unsaid, common)]
    assert spans[0] == spans[1]
    found, said = (met(it, WEAR_SHORT) for it in (unsaid, common))
    assert [one.sentence for one in found] == [one.sentence for one in said]
    assert [one.because[2:] for one in found] == [
        ("The file says no saves of presets; 10 a day are common.",),
        ("The file says no saves of state; 30 a day are common.",),
    ]
    assert [one.because[2:] for one in said] == [(), ()]


def test_wear_short_says_how_many_places_would_do() -> None:
    of = teasel_pinch()
    holds = replace(of.holds, state_copies=4, state_saves=40, preset_saves=30, preset_spare=1)
    short = met(replace(of, holds=holds), WEAR_SHORT)
    assert [found.subject for found in short] == ["presets", "state"]
    assert [found.try_ for found in short] == [
        "spare 3 for presets in a memory of 512 bytes",
        "state 5 copies in a memory of 512 bytes",
    ]
    assert short[1].sentence == (
        "At 40 saves a day the memory of state reaches its endurance after 13.7 years;"
        " 15 years are the least."
    )
    mended = replace(
        of, chip=replace(of.chip, size=512), holds=replace(holds, state_copies=5, preset_spare=3)
    )
    assert met(mended, WEAR_SHORT) == []
    roomy = replace(of, chip=mended.chip, holds=holds)
    assert [found.try_ for found in met(roomy, WEAR_SHORT)] == ["spare 3 for presets", "state 5 copies"]


def test_fifteen_years_are_enough() -> None:
    of = doorbell()
    # 15 years of 4 places at 1 save a day
    just = replace(of.chip, endurance=15 * 365 * 2 // 4 + 1)
    holds = replace(of.holds, setup_copies=20, preset_spare=20, preset_saves=1, state_saves=1)
    assert met(replace(of, chip=just, holds=holds), WEAR_SHORT) == []
    less = replace(just, endurance=just.endurance - 1)
    found = met(replace(of, chip=less, holds=holds), WEAR_SHORT)
    assert "after 14.9 years" in found[0].sentence


def test_what_no_number_of_places_mends_wants_another_memory() -> None:
    of = doorbell()
    tired = replace(of, chip=replace(of.chip, endurance=1000), holds=replace(of.holds, state_saves=500))
    assert [found.try_ for found in met(tired, WEAR_SHORT)] == [
        "setup 11 copies in a memory of 2048 bytes",
        "spare 109 for presets in a memory of 2048 bytes",
        "a memory of greater endurance",
    ]


# ---- checksum


def with_checksum(name: str, page: int, names: int = 0) -> Product:
    of = doorbell()
    chip = Chip(1 << 16, page, 10**9, leave_first=page, checksum=CATALOGUE[name])
    return replace(of, chip=chip, holds=replace(of.holds, preset_names=names))


def test_eight_bits_are_too_short_where_a_page_can_be_torn() -> None:
    found = met(with_checksum("crc-8/autosar", 8), CHECKSUM_TOO_SHORT)
    assert len(found) == 1
    assert found[0].because == (
        "A cut can leave a page of 8 bytes as garbage, and 1 in 258 such records would pass.",
    )
    assert met(with_checksum("crc-8/autosar", 1), CHECKSUM_TOO_SHORT) == []
    assert met(with_checksum("crc-16/ibm-3740", 8), CHECKSUM_TOO_SHORT) == []


def test_two_bits_can_cancel_out_past_the_length_of_the_polynomial() -> None:
    """x^127 = 1 modulo the primitive part of 0x2F: code words of 128 bits and more have distance 2."""
    algorithm = CATALOGUE["crc-8/autosar"]
    assert [hamming.distance(algorithm, bits) == 2 for bits in (119, 120)] == [False, True]
    # 13 bytes in front of the checksum: 104 bits. Every other record of the example is shorter.
    assert met(with_checksum("crc-8/autosar", 1, 7), CHECKSUM_TOO_SHORT) == []
    long = met(with_checksum("crc-8/autosar", 1, 10), CHECKSUM_TOO_SHORT)
    assert long[0].because == (
        "A record of presets has 17 bytes; at that length two flipped bits can cancel out.",
    )
    assert met(with_checksum("crc-16/ibm-3740", 1, 4200), CHECKSUM_TOO_SHORT)[0].try_ == (
        "checksum crc-32/iso-hdlc"
    )


def test_a_record_longer_than_any_memory_is_only_too_long() -> None:
    of = replace(doorbell(), holds=replace(doorbell().holds, preset_names=10**6))
    assert [found.rule.name for found in plan(of).diagnostics] == ["does-not-fit"]


# ---- nothing to hold


def test_copies_of_an_empty_kind_get_no_record_and_are_said() -> None:
    of = doorbell()
    empty = replace(
        of,
        panel=(knob("LOUD"), *of.panel[1:]),
        items=of.items[:3],
        modes=of.modes[:1],
    )
    found = met(empty, NOTHING_TO_HOLD)
    assert [(one.subject, one.sentence) for one in found] == [
        (
            "bench",
            "The file asks for bench, and there is no trim and no knob with measured ends:"
            " bench gets no record.",
        ),
        (
            "setup",
            "The file asks for setup, and there is nothing that is kept once: setup gets no record.",
        ),
    ]
    layout = plan(empty).value
    assert layout is not None
    assert [record.kind for record in layout.records] == [Kind.IDENTITY, Kind.PRESETS, Kind.STATE]
    unasked = replace(empty, holds=replace(empty.holds, bench_copies=0, setup_copies=0))
    assert met(unasked, NOTHING_TO_HOLD) == []


# ---- noon


def on_a_knob(grid: Grid, bits: int = 10) -> Product:
    it = param("level", Scale(SPELLINGS["%"], Fraction(0), Fraction(100), Straight(), grid))
    return product((it,), (knob("LEVEL", bits),), (open_mode(("LEVEL", "level")),))


def test_a_grid_finer_than_the_converter_misses_noon() -> None:
    (found,) = met(on_a_knob(Coded(12)), NOON_OUT_OF_REACH)
    # Reading 512 of 1023 is travel 0.50049, and 2049 of 4094 codes; 2049 / 4094 is 50.04885 %.
    assert found.sentence == (
        'Straight up, knob "Level" gives param "Level" about 50.0489 % and not its noon, 50 %.'
    )
    assert found.because == (
        "Half travel lies between the readings 511 and 512 of 1023, which give about 49.9511 % and"
        " about 50.0489 %.",
    )
    assert found.subject == "level"


@pytest.mark.parametrize(("grid", "bits"), [(Coded(12), 14), (Coded(10), 10), (Stepped(Fraction(1)), 10)])
def test_a_grid_no_finer_than_it_reaches_noon(grid: Grid, bits: int) -> None:
    assert met(on_a_knob(grid, bits), NOON_OUT_OF_REACH) == []


def on_a_part(law: Law, flat: Fraction = Fraction(0), bits: int = 12) -> Product:
    scale = Scale(SPELLINGS["%"], Fraction(0), Fraction(100), Straight(), Stepped(Fraction(1)))
    it = replace(param("level", scale), flat=flat)
    return product((it,), (knob("LEVEL", bits, law=law),), (open_mode(("LEVEL", "level")),))


@pytest.mark.parametrize(
    "law", [ThreePoint(Fraction(3, 20)), ThreePoint(Fraction(9, 10)), SCurve(Fraction(1, 10))]
)
@pytest.mark.parametrize("flat", [Fraction(0), Fraction(3, 50)])
def test_the_law_of_a_part_is_undone_before_noon_is_looked_for(law: Law, flat: Fraction) -> None:
    assert met(on_a_part(law, flat), NOON_OUT_OF_REACH) == []


def test_a_steep_part_misses_noon() -> None:
    """Its middle of 0.5 % is 1.275 of 255 readings, and 1 counts as noon. Its law (r^2x - 1) / (r^2 - 1) with
    r = 199 gives that reading at travel 0.477."""
    (found,) = met(on_a_part(ThreePoint(Fraction(1, 200)), bits=8), NOON_OUT_OF_REACH)
    assert found.sentence == 'Straight up, knob "Level" gives param "Level" 48 % and not its noon, 50 %.'
    assert found.because == (
        "Half travel lies between the readings 1 and 2 of 255, which give 48 % and 54 %.",
    )
    # What is flat about noon covers the reading.
    assert met(on_a_part(ThreePoint(Fraction(1, 200)), Fraction(3, 50), bits=8), NOON_OUT_OF_REACH) == []


def test_a_mend_lets_the_layout_through_and_has_a_place() -> None:
    of = teasel_pinch()
    source = Source("teasel_pinch.paramc", "holds { }")
    place = Span(source, 0, 5)
    worn = replace(of, holds=replace(of.holds, state_saves=100, place=place))
    checked = plan(worn)
    assert checked.value is not None and not checked.stopped
    assert [(found.severity, found.place) for found in checked.diagnostics] == [(Severity.MEND, place)]
    assert checked.value.product.chip.checksum == CRC_16
