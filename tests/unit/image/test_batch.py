"""The list of a batch: which units are right, and what is said of the others."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.image.batch import Failed, Listed, Mistake, Share, UnitList, read_list
from paramc.image.stamp import Unit
from paramc.layout.layout import Layout
from paramc.model.items import Trim
from tests.unit.image.layouts import example, gravel_weir
from tests.unit.image.lists import Batch, read_batch

PINCH = "teasel_pinch"


def read(layout: Layout, *lines: str) -> Batch | Mistake:
    return read_batch(layout, "\r\n".join((*lines, "")).encode())


def units(answer: Batch | Mistake) -> list[Unit]:
    assert isinstance(answer, Batch) and not answer.failed, answer
    return [listed.unit for listed in answer.listed]


def failure(answer: Batch | Mistake) -> Failed:
    assert isinstance(answer, Batch) and not answer.listed, answer
    [failed] = answer.failed
    return failed


def test_a_list_as_it_should_be() -> None:
    answer = read(
        example(PINCH),
        "serial,hardware,vca_null,detector_gain reading,unity_level",
        "TP-000001,A,-3,-12.3,0.15",
        "TP-000002,A,0,-12,-0.05",
    )
    # detector_gain: nominal 0 dB, aim -12 dBu, slope 1: 0 + (-12 - -12.3) / 1 = 0.3 dB, 33 steps from -3 dB.
    assert answer == Batch(
        (
            Listed(2, Unit("TP-000001", 0, (("vca_null", 125), ("detector_gain", 33), ("unity_level", 43)))),
            Listed(3, Unit("TP-000002", 0, (("vca_null", 128), ("detector_gain", 30), ("unity_level", 39)))),
        ),
        (),
    )


def test_columns_may_stand_in_any_order_and_trims_be_left_out() -> None:
    assert units(read(example(PINCH), "unity_level,serial", "0.1,TP-1")) == [
        Unit("TP-1", 0, (("unity_level", 42),))
    ]
    assert units(read(example(PINCH), "serial", "TP-1", "TP-2")) == [Unit("TP-1", 0), Unit("TP-2", 0)]
    assert units(read(gravel_weir(), "serial,hardware", "W1,B2", "W2,C")) == [Unit("W1", 1), Unit("W2", 2)]


@pytest.mark.parametrize(
    ("reading", "value"),
    # 50 + (4.5 - reading) / 0.03, to the nearest whole one, ties to the even code; codes count down from 100.
    [("4.5", 50), ("4.2", 60), ("4.8", 40), ("3.6", 80), ("5.4", 20), ("4.47", 51), ("4.485", 50)],
)
def test_a_reading_becomes_the_trim_that_would_have_met_the_aim(reading: str, value: int) -> None:
    layout = gravel_weir()
    trim = layout.product.item("bias")
    assert isinstance(trim, Trim)
    [unit] = units(read(layout, "serial,hardware,bias reading", f"W1,A,{reading}"))
    [(name, code)] = unit.trims
    assert (name, trim.scale.value(code)) == ("bias", value)


def test_what_is_plausible_is_asked_before_rounding() -> None:
    # 80.4 would round to 80, the last that is plausible.
    said = failure(read(gravel_weir(), "serial,hardware,bias", "W1,A,80.4")).mistake
    assert said == Mistake(
        2, "bias", "80.4", "Line 2: bias 80.4 is outside what is plausible, 20 to 80; measure again."
    )
    said = failure(read(gravel_weir(), "serial,hardware,bias reading", "W1,A,3.59")).mistake
    assert said.sentence == (
        "Line 2: bias reading 3.59 asks for about 80.3333, which is outside what is plausible, 20 to 80;"
        " measure again."
    )
    [unit] = units(read(gravel_weir(), "serial,hardware,bias", "W1,A,80"))
    assert unit.trims == (("bias", 20),)


def test_a_trim_outside_its_range_fails_and_is_not_brought_back() -> None:
    said = failure(read(gravel_weir(), "serial,hardware,offset", "W1,A,10.1")).mistake
    assert said.sentence == "Line 2: offset 10.1 is outside its range, -10 mV to 10 mV; measure again."
    [unit] = units(read(gravel_weir(), "serial,hardware,offset", "W1,A,9.9"))
    assert unit.trims == (("offset", 40),)


@given(st.fractions(Fraction(-15, 10), Fraction(15, 10)).map(lambda number: round(number, 4)))
@settings(deadline=None)
def test_a_measured_trim_is_at_most_half_a_step_away(number: Fraction) -> None:
    layout = example(PINCH)
    trim = layout.product.item("unity_level")
    assert isinstance(trim, Trim)
    text = str(float(number))
    if "e" in text:
        text = "0"
    [unit] = units(read(layout, "serial,unity_level", f"TP-1,{text}"))
    value = trim.scale.value(unit.trims[0][1])
    assert isinstance(value, Fraction) and abs(value - Fraction(text)) <= Fraction(25, 1000)


@pytest.mark.parametrize(
    ("serial", "what"),
    [
        ("", "serial is missing"),
        ("000123", "is all digits, and spreadsheets drop zeros in front; begin it with a letter: TP-000123"),
        ("123", "is all digits, and spreadsheets drop zeros in front; begin it with a letter: TP-000123"),
        ("0001E2", "is read as a power of ten by spreadsheets; begin it with a letter: TP-0001E2"),
        ("1.00E+02", "is read as a power of ten by spreadsheets; begin it with a letter: TP-0001E2"),
        ("tp-000123", "is no serial; write TP-000123"),
        (" TP-1", "is no serial; write TP-1"),
        ("TP_1", "is no serial; write a capital letter, then A to Z, 0 to 9 and hyphen"),
        ("-TP1", "is no serial; write a capital letter, then A to Z, 0 to 9 and hyphen"),
        ("\u00c4B1", "is no serial; write a capital letter, then A to Z, 0 to 9 and hyphen"),
        ("../../X", "is no serial; write a capital letter, then A to Z, 0 to 9 and hyphen"),
        ("TP-00000123", "has 11 characters, and the unit has room for 10"),
        ("TP;1", "has a semicolon; part cells by commas"),
    ],
)
def test_a_serial_that_is_none(serial: str, what: str) -> None:
    failed = failure(read(example(PINCH), "serial,vca_null", f"{serial},0"))
    assert failed.serial == serial
    expected = f'serial "{serial}" {what}' if serial else what
    assert failed.mistake == Mistake(2, "serial", serial, f"Line 2: {expected}.")


def test_units_with_one_serial_all_fail_and_the_rest_go_on() -> None:
    answer = read(example(PINCH), "serial", "TP-1", "TP-2", "TP-1")
    assert isinstance(answer, Batch)
    assert [listed.unit.serial for listed in answer.listed] == ["TP-2"]
    assert [failed.mistake.sentence for failed in answer.failed] == [
        'Line 2: serial "TP-1" stands on 2 lines; no two units have one serial.',
        'Line 4: serial "TP-1" stands on 2 lines; no two units have one serial.',
    ]


@pytest.mark.parametrize(
    ("cell", "what"),
    [
        ("", "is empty; write the number, or leave the whole column out"),
        ('"0,15"', 'has a decimal comma; write 0.15'),
        ('"-0,15"', 'has a decimal comma; write -0.15'),
        ("0.15 dB", "has a unit; write the number alone, in dB"),
        ("1E-1", "is a power of ten; write the number in full"),
        (".15", "is no number; write it like -0.25 or 12"),
        ("0.1.5", "is no number; write it like -0.25 or 12"),
        ("nan", "is no number; write it like -0.25 or 12"),
        ("=1+1", "is a formula or has a sign too many; write the number alone"),
        ("@A1", "is a formula or has a sign too many; write the number alone"),
        ("0.15 ", "has blanks around it; write 0.15"),
        ("0;15", "has a semicolon; part cells by commas"),
    ],
)
def test_a_cell_that_is_no_number(cell: str, what: str) -> None:
    mistake = failure(read(example(PINCH), "serial,unity_level", f"TP-1,{cell}")).mistake
    bare = cell.strip('"')
    expected = f'unity_level "{bare}" {what}' if bare else f"unity_level {what}"
    assert mistake == Mistake(2, "unity_level", bare, f"Line 2: {expected}.")


def test_a_decimal_comma_without_quotes_is_a_cell_too_many() -> None:
    failed = failure(read(example(PINCH), "serial,unity_level", "TP-1,0,15"))
    assert failed.serial == "TP-1"
    assert failed.mistake.sentence == (
        "Line 2: there are 3 cells under a head of 2; a decimal comma does that: write 0.15, not 0,15."
    )
    short = failure(read(example(PINCH), "serial,unity_level,vca_null", "TP-1,0.15")).mistake
    assert short.sentence == "Line 2: there are 2 cells under a head of 3."


def test_hardware_is_one_that_the_image_fits() -> None:
    said = failure(read(gravel_weir(), "serial,hardware", "W1,D")).mistake
    assert said.sentence == 'Line 2: hardware "D" does not fit this image; write A or B2 or C.'
    assert failure(read(gravel_weir(), "serial,hardware", "W1,")).mistake.column == "hardware"
    assert failure(read(example(PINCH), "serial,hardware", "TP-1,B")).mistake.column == "hardware"


@pytest.mark.parametrize(
    ("layout", "head", "what"),
    [
        (PINCH, "vca_null", "there is no column serial, and every unit needs one"),
        ("", "serial", "there is no column hardware, and the image fits A or B2 or C"),
        (PINCH, "serial,serial", 'column "serial" stands twice; leave one out'),
        (PINCH, "serial,unity_level,unity_level", 'column "unity_level" stands twice; leave one out'),
        (PINCH, "serial,unity level", 'column 2, "unity level", is not known; write unity_level'),
        (PINCH, "Serial", 'column 1, "Serial", is not known; write serial'),
        (
            PINCH,
            "serial,unity_level,unity_level reading",
            "both unity_level and unity_level reading are there; leave one out",
        ),
        (
            PINCH,
            "serial,vca_null reading",
            "trim vca_null has no aim to count a reading from; give vca_null itself",
        ),
        (
            PINCH,
            "serial;hardware;unity_level",
            "the cells are parted by semicolons; write commas: serial,hardware,unity_level",
        ),
        (PINCH, "serial\thardware", "the cells are parted by tabs; write commas: serial,hardware"),
    ],
)
def test_a_head_that_is_wrong_keeps_the_whole_list_back(layout: str, head: str, what: str) -> None:
    answer = read(example(layout) if layout else gravel_weir(), head, "TP-1,A,0")
    assert isinstance(answer, Mistake)
    assert answer.sentence == f"Line 1: {what}."


def test_lists_without_units() -> None:
    for data, sentence in (
        (b"", "The list is empty; its first line names the columns, the first of them serial."),
        (b"\r\n\r\n,,\r\n", "The list is empty; its first line names the columns, the first of them serial."),
        (b"serial\r\n\r\n", "The list names its columns and has no unit below them."),
    ):
        assert read_batch(example(PINCH), data) == Mistake(None, "", "", sentence)


def test_stations_share_a_list_and_leave_nothing_out() -> None:
    data = "\n".join(["serial", *(f"TP-{at}" for at in range(1, 8)), ""]).encode()
    units = read_list(example(PINCH).product, data)
    assert isinstance(units, UnitList)
    shares = [list(units.serials(Share(station, 3))) for station in (1, 2, 3)]
    assert shares == [["TP-1", "TP-4", "TP-7"], ["TP-2", "TP-5"], ["TP-3", "TP-6"]]
    assert [Share(station, 3).of(7) for station in (1, 2, 3)] == [3, 2, 2]
    assert [len(list(units.read(Share(station, 3)))) for station in (1, 2, 3)] == [3, 2, 2]
    with pytest.raises(ValueError, match="station 4 of 3"):
        Share(4, 3)


def test_serials_are_those_that_can_be_one_each_once() -> None:
    data = b"serial,unity_level\nTP-1,x\n000123,0\nTP-2,0\nTP-1,0\n,0\nTP-12345678,0\n"
    units = read_list(example(PINCH).product, data)
    assert isinstance(units, UnitList)
    assert list(units.serials()) == ["TP-1", "TP-2"]


def test_a_hundred_thousand_units_and_one_more() -> None:
    rows = b"".join(b"TP-%d\n" % at for at in range(100_000))
    units = read_list(example(PINCH).product, b"serial\n" + rows)
    assert isinstance(units, UnitList) and units.units == 100_000
    more = read_list(example(PINCH).product, b"serial\n" + rows + b"TP-X\n")
    assert more == Mistake(None, "", "", "The list has more than 100000 units; write it as several.")
