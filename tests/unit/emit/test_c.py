"""What stands in the C, and what is refused to stand there."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from paramc.emit.c import emit_c
from paramc.emit.layout_rows import rows_of
from paramc.emit.panel_view import milliseconds, period
from paramc.emit.start import start_of
from paramc.emit.tables_view import block
from paramc.emit.wording import clock_text
from paramc.layout.layout import Kind, Layout
from tests.target.emitted import layout_of
from tests.target.products import CAUSEWAY, DOORBELL, PINCH


@pytest.fixture(scope="module")
def pinch() -> Layout:
    return layout_of(PINCH)


def header(layout: Layout) -> str:
    return emit_c(layout)[0].data.decode("utf-8")


def test_names_and_first_lines(pinch: Layout) -> None:
    artifacts = emit_c(pinch)
    assert [artifact.name for artifact in artifacts] == [
        "teasel_pinch.h", "teasel_pinch.c", "teasel_pinch_bench.c",
    ]  # fmt: skip
    for artifact in artifacts:
        assert artifact.data.startswith(
            b"/* made by paramc from teasel_pinch.paramc; change that file, not this one."
        )
        assert artifact.data.endswith(b"\n") and b"\r" not in artifact.data and b"\t" not in artifact.data
        assert not re.search(rb" $", artifact.data, re.MULTILINE)


def test_both_files_carry_one_number_that_any_change_changes(pinch: Layout) -> None:
    def number(layout: Layout) -> list[bytes]:
        return [
            match
            for artifact in emit_c(layout)
            for match in re.findall(rb"TP_BUILD\D+(0x\w+)u", artifact.data)
        ]

    one, other = number(pinch), number(layout_of(PINCH.replace('"Squeeze"', '"Squeezed"')))
    assert len(set(one)) == len(set(other)) == 1 and len(one) == 3
    assert one[0] != other[0]


def test_what_the_firmware_is_told_of_an_item(pinch: Layout) -> None:
    text = header(pinch)
    assert (
        """
/* Param Attack: 0.5 ms to 80 ms, code k is 0.5 ms and k times 0.1 ms. Default 75: 8 ms. */
#define TP_LABEL_ATTACK "Attack"
#define TP_ITEM_ATTACK 8u
#define TP_CODES_ATTACK 796u
#define TP_DEFAULT_ATTACK 75u
"""
        in text
    )
    assert (
        """
#define TP_TONE_WARM 0u /* Warm "wool" */
#define TP_TONE_FLAT 1u /* Flat */
#define TP_TONE_BRIGHT 2u /* Bright ? ?/ */
"""
        in text
    )
    assert (
        """
/* Level: uq3.13 as amplitude ratio, within 0.05 dB.
 *    7:00  code     0  off               0
 *    9:30  code    83  -18.5 dB          978
 *   12:00  code   120  0 dB              8226
 *    2:30  code   137  8.5 dB            21833
 *    5:00  code   144  12 dB             32470
 * Blocks: 46 knots, 103 bytes. Worst error: 6.44 of the tolerance, at code 1.
 * No integer keeps the tolerance at code 1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 13 and 14 more: there it is
 *   the nearest.
 * Straight pieces needed at least: 24.
 * Alone on AVR, flash and mean time: blocks 211 bytes, 78 cycles. Others: full table 306 bytes, 9 cycles;
"""
        in text
    )


def test_cautions_stand_where_they_belong() -> None:
    text = header(layout_of(CAUSEWAY.replace("inside low voltage", "inside mains")))
    before, _, after = text.partition("#ifndef")
    assert " * DANGER. Voltages inside can kill" in before
    repeats = after[after.index("Param Repeats") : after.index("CAUSEWAY_LABEL_REPEATS")]
    assert "WARNING. Above 100 %" in " ".join(repeats.replace(" * ", " ").split())


def test_no_item_can_take_the_name_of_a_further_knobs_function() -> None:
    # A further knob's function has its control in capitals, which no item's name has.
    text = (
        DOORBELL
        + """
    param level_by_b "Level too" { range 0 % .. 100 % step 1 % }
    panel { knob A "A", C "C" { adc 10 bits } knob B "B" { adc 12 bits } footswitch F "F" }
    mode main { A sets level C sets level_by_b }
    mode more { enter hold F for 1 s B sets level }
    """
    )
    header = emit_c(layout_of(text))[0].data.decode()
    assert "db_knob_level_by_b(" in header
    assert "db_knob_level_by_B(" in header


def test_rows_are_in_the_order_of_their_records(pinch: Layout) -> None:
    rows = rows_of(pinch)
    presets, state = rows.kind(Kind.PRESETS), rows.kind(Kind.STATE)
    assert presets is not None and state is not None
    assert [row.name for row in rows.rows[state.start : state.start + 2]] == ["last_preset", "engaged"]
    assert (presets.start, presets.end) == (state.start + 2, state.end)
    assert rows.rows[rows.number("swell")].wide and not rows.rows[rows.number("ratio")].wide


@pytest.mark.parametrize("fault", ["gap", "text in front"])
def test_a_record_that_one_loop_cannot_read_is_refused(fault: str) -> None:
    layout = layout_of(CAUSEWAY)
    record = layout.record(Kind.PRESETS)
    assert record is not None
    slot, first, *others, name = record.fields
    fields = {
        "gap": (slot, replace(first, bit=first.bit + 1), *others, name),
        "text in front": (slot, replace(name, bit=first.bit), first, *others),
    }[fault]
    records = tuple(
        replace(one, fields=fields) if one.kind is Kind.PRESETS else one for one in layout.records
    )
    with pytest.raises(ValueError, match=r"out of its order|not behind all fields"):
        emit_c(replace(layout, records=records))


UNSURE = "Where the memory is blank, foreign, newer or a trial's, or has no good copy of"


@pytest.mark.parametrize(("product", "said"), [
    (PINCH, f"Lost trims: TP_MUTED. {UNSURE} setup or state: TP_BYPASSED. Otherwise as power_on says."),
    (CAUSEWAY, f"Lost trims: CAUSEWAY_BYPASSED. {UNSURE} state: CAUSEWAY_BYPASSED. Otherwise as the unit"),
    (DOORBELL, f"DB_MUTED. {UNSURE} state: DB_BYPASSED. Otherwise DB_ENGAGED."),
])  # fmt: skip
def test_the_start_is_told_in_words(product: str, said: str) -> None:
    assert said in start_of(layout_of(product)).text


def test_times() -> None:
    assert [milliseconds(time) for time in (None, Fraction(6, 10), Fraction(3600))] == [
        "0u",
        "600u",
        "3600000u",
    ]
    assert [period(rate) for rate in (None, Fraction(1), Fraction(3), Fraction(10**6))] == [
        "0u",
        "1000u",
        "333u",
        "1u",
    ]


def test_clock_positions() -> None:
    halves = [Fraction(at, 4) for at in range(5)]
    assert [clock_text(travel) for travel in halves] == ["7:00", "9:30", "12:00", "2:30", "5:00"]
    assert [clock_text(travel, Fraction(270)) for travel in halves] == [
        "7:30",
        "9:45",
        "12:00",
        "2:15",
        "4:30",
    ]


def test_comments_of_one_line_and_of_several() -> None:
    assert block(["one"]) == ("/* one */",)
    assert block(["one", "two", "three"]) == ("/* one", " * two", " * three */")
