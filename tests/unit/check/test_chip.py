"""The chip block."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import DOORBELL, changed
from paramc.model.product import Order
from paramc.numbers import crc
from tests.unit.check.told import only, product_of, told

_LINE = "size 256 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V"


def _chip(lines: str) -> str:
    return changed(_LINE, lines)


def _with(lines: str) -> str:
    return _chip(f"{_LINE}  {lines}")


def test_what_is_said_is_what_is_read() -> None:
    chip = product_of(
        _chip(
            "size 8 KiB  page 32 bytes  endurance 1_000_000 writes  brown-out 2700 mV  order big  blank 0"
            "  hex at 0x810000  leave first 64 bytes  checksum crc-32/iso-hdlc"
        )
    ).chip
    assert (chip.size, chip.page, chip.endurance) == (8192, 32, 1_000_000)
    assert (chip.brown_out, chip.order, chip.blank) == (Fraction(27, 10), Order.BIG, 0)
    assert (chip.hex_at, chip.leave_first) == (0x810000, 64)
    assert chip.checksum == crc.find("crc-32/iso-hdlc")


def test_what_is_not_said() -> None:
    chip = product_of(DOORBELL).chip
    assert (chip.order, chip.blank, chip.hex_at) == (Order.LITTLE, 0xFF, 0)
    assert chip.checksum.name == "CRC-16/IBM-3740"


@pytest.mark.parametrize(("page", "left"), [(1, 4), (2, 4), (4, 4), (8, 8), (64, 64)])
def test_one_page_and_at_least_4_bytes_are_left_free(page: int, left: int) -> None:
    assert product_of(changed("page 1 byte", f"page {page} bytes")).chip.leave_first == left


def test_nothing_need_be_left_free() -> None:
    assert product_of(_with("leave first 0 bytes")).chip.leave_first == 0


@pytest.mark.parametrize("size", ["256", "256 bytes", "1 KiB", "64 KiB", "65_536 bytes"])
def test_sizes(size: str) -> None:
    assert told(changed("size 256 bytes", f"size {size}")) == []


@pytest.mark.parametrize("size", ["0", "65_537", "65 KiB", "0x10001", "9" * 40])
def test_sizes_out_of_bounds(size: str) -> None:
    found = only(changed("size 256 bytes", f"size {size}"))
    assert found.rule.name == "chip-size"
    assert "1 byte to 64 KiB" in found.sentence


@pytest.mark.parametrize("page", ["0", "3", "24", "512", "131_072", "9" * 40])
def test_a_page_is_a_power_of_two_that_divides_the_size(page: str) -> None:
    assert told(changed("page 1 byte", f"page {page} bytes")) == ["chip-page"]


def test_a_page_of_a_memory_whose_size_is_wrong_is_not_held_against_it() -> None:
    assert told(_chip("size 65 KiB  page 512 bytes  endurance 1 write  brown-out 2.7 V")) == ["chip-size"]


@pytest.mark.parametrize(("writes", "rules"), [
    ("0", ["out-of-bounds"]), ("1", []), ("1_000_000_000_000_000", []), ("9" * 40, ["out-of-bounds"]),
])
def test_endurance(writes: str, rules: list[str]) -> None:
    assert told(changed("100_000 writes", f"{writes} writes")) == rules


@pytest.mark.parametrize(("level", "rules"), [
    ("0.5 V", []), ("6 V", []), ("4300 mV", []), ("6.1 V", ["out-of-bounds"]), ("0.49 V", ["out-of-bounds"]),
    ("-2.7 V", ["out-of-bounds"]), ("2.7 A", ["wrong-unit"]), ("2.7", ["wrong-unit"]),
])
def test_brown_out_is_a_voltage(level: str, rules: list[str]) -> None:
    assert told(changed("2.7 V", level)) == rules


@pytest.mark.parametrize(("blank", "rules"), [("0", []), ("255", []), ("256", ["out-of-bounds"])])
def test_the_blank_byte(blank: str, rules: list[str]) -> None:
    assert told(_with(f"blank {blank}")) == rules


@pytest.mark.parametrize(("address", "rules"), [
    ("0xFFFFFF00", []), ("0xFFFFFF01", ["hex-address"]), ("0x" + "F" * 30, ["hex-address"]),
])
def test_all_addresses_have_32_bits(address: str, rules: list[str]) -> None:
    assert told(_with(f"hex at {address}")) == rules


@pytest.mark.parametrize(("left", "rules"), [
    ("255", []), ("256", ["leave-first"]), ("9" * 40, ["leave-first"]),
])
def test_something_is_left_behind_what_is_left_free(left: str, rules: list[str]) -> None:
    assert told(_with(f"leave first {left} bytes")) == rules


@pytest.mark.parametrize("statement", ["size 256 bytes", "page 1 byte", "endurance 100_000 writes"])
def test_what_has_to_be_said(statement: str) -> None:
    found = only(changed(statement, ""))
    assert found.rule.name == "unsaid"
    assert found.place is not None and found.place.text == "chip"
    assert told(changed(statement, found.try_)) == []


@pytest.mark.parametrize("line", [_line.strip() for _line in _LINE.split("  ")])
def test_a_statement_is_said_once(line: str) -> None:
    assert told(_with(line)) == ["said-twice"]


@pytest.mark.parametrize("name", sorted(crc.CATALOGUE))
def test_checksums_by_name(name: str) -> None:
    for spelling in (name, name.upper()):
        assert product_of(_with(f"checksum {spelling}")).chip.checksum is crc.CATALOGUE[name]


@pytest.mark.parametrize("name", sorted(crc.CATALOGUE))
def test_checksums_written_out(name: str) -> None:
    known = crc.CATALOGUE[name]
    reflected = "reflected" if known.reflected else ""
    written = product_of(
        _with(
            f"checksum width {known.width} poly 0x{known.poly:X} start 0x{known.init:X} {reflected}"
            f" final 0x{known.xorout:X} check 0x{known.check:X}"
        )
    ).chip.checksum
    assert (written.width, written.poly, written.init) == (known.width, known.poly, known.init)
    assert (written.reflected, written.xorout, written.check) == (known.reflected, known.xorout, known.check)


def test_a_written_checksum_is_called_by_its_numbers_alone() -> None:
    written = "checksum width 16 # end */\n poly 0x1021 start 65535 final 0 check 0x29B1"
    assert product_of(_with(written)).chip.checksum.name == (
        "width 16 poly 0x1021 start 0xFFFF final 0x0000 check 0x29B1"
    )


def test_an_unknown_checksum_brings_all_that_go_by_its_name() -> None:
    found = only(_with("checksum crc-16/ccitt"))
    assert found.rule.name == "checksum-unknown"
    assert found.try_ == "checksum crc-16/ibm-3740"
    assert "crc-16/xmodem" in found.because[0] and "crc-16/kermit" in found.because[0]


def test_a_checksum_like_no_other() -> None:
    found = only(_with("checksum crc-99/zzzzzz"))
    assert found.rule.name == "checksum-unknown"
    assert found.because == ()


@pytest.mark.parametrize("written", [
    "width 12 poly 0x80F start 0 final 0 check 0xF5B",
    "width 64 poly 0x1 start 0 final 0 check 0",
    "width 16 poly 0x11021 start 0xFFFF final 0 check 0x29B1",
    "width 16 poly 0x1020 start 0xFFFF final 0 check 0x29B1",
    "width 16 poly 0x1021 start 0x1FFFF final 0 check 0x29B1",
    "width 16 poly 0x1021 start 0xFFFF final 0x10000 check 0x29B1",
    "width 16 poly 0x1021 start 0xFFFF final 0 check 0x129B1",
])
def test_parameters_that_are_no_checksum(written: str) -> None:
    assert told(_with(f"checksum {written}")) == ["checksum-form"]


def test_a_check_value_that_does_not_come_out() -> None:
    found = only(_with("checksum width 16 poly 0x1021 start 0xFFFF final 0 check 0x31C3"))
    assert found.rule.name == "checksum-check"
    assert found.sentence == "These parameters give 0x29B1 for 123456789, not 0x31C3."
    assert "0x31C3 is the check value of crc-16/xmodem." in found.because
    assert found.try_ == "checksum crc-16/xmodem"


def test_a_check_value_of_no_known_checksum() -> None:
    found = only(_with("checksum width 16 poly 0x1021 start 0xFFFF final 0 check 0x1234"))
    assert found.try_ == "compare the parameters with their source"
