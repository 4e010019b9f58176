"""The chip block: size, page and wear of the memory, and the checksum of its records."""

from __future__ import annotations

from fractions import Fraction

from paramc.check import bounds
from paramc.check.chip_rules import (
    CHECKSUM_CHECK,
    CHECKSUM_FORM,
    CHECKSUM_UNKNOWN,
    CHIP_PAGE,
    CHIP_SIZE,
    HEX_ADDRESS,
    LEAVE_FIRST,
)
from paramc.check.statements import Statements, read_statements
from paramc.check.words import keyword, listed, short
from paramc.model.product import Chip, Order
from paramc.numbers import crc
from paramc.numbers.units import SPELLINGS
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

LARGEST = 1 << 16
KIBI = 1 << 10
LEAST_LEFT = 4
"""Bytes left free at the start where nothing is said: old parts hit address 0 when power fails."""

DEFAULT_CHECKSUM = "crc-16/ibm-3740"

_MOST_WRITES = 10**15
_ADDRESSES = 1 << 32
# Supply voltages of processors, with room: a detector outside them was mistyped.
_LOWEST_BROWN_OUT, _HIGHEST_BROWN_OUT = Fraction(1, 2), Fraction(6)


def read_chip(block: nodes.Chip, found: list[Diagnostic]) -> Chip | None:
    """The memory of a chip block; None where something without a default is missing or wrong."""
    said = read_statements(block.lines, "the chip", keyword(block), found)
    size = _size(said, found)
    page = _page(said, size, found)
    endurance = _endurance(said, found)
    brown_out = _brown_out(said.get(nodes.BrownOut), found)
    blank = _blank(said.get(nodes.Blank), found)
    hex_at = _hex_at(said.get(nodes.HexAt), size, found)
    left = _left(said.get(nodes.LeaveFirst), size, found)
    checksum = _checksum(said.get(nodes.Checksum), found)
    order = said.get(nodes.Order)
    if size is None or page is None or endurance is None or checksum is None:
        return None
    return Chip(
        size=size,
        page=page,
        endurance=endurance,
        order=Order(order.value.text) if order else Order.LITTLE,
        blank=blank,
        hex_at=hex_at,
        leave_first=max(page, LEAST_LEFT) if left is None else left,
        brown_out=brown_out,
        checksum=checksum,
        place=said.place,
    )


def _size(said: Statements, found: list[Diagnostic]) -> int | None:
    line = said.need(nodes.Size, "size 1024 bytes", found)
    if line is None:
        return None
    kibi = line.unit is not None and line.unit.text == "KiB"
    size = line.count.value * (KIBI if kibi else 1)
    if 1 <= size <= LARGEST:
        return size
    written = f"{line.count.value} {'KiB' if kibi else 'bytes'}"
    sentence = f"The size of the chip, {written}, is outside 1 byte to 64 KiB."
    found.append(Diagnostic(CHIP_SIZE, sentence, line.span, try_="size 64 KiB" if size else ""))
    return None


def _page(said: Statements, size: int | None, found: list[Diagnostic]) -> int | None:
    line = said.need(nodes.Page, "page 1 byte", found)
    if line is None:
        return None
    page = line.count.value
    if not 1 <= page <= LARGEST or page & (page - 1):
        sentence = f"The page of the chip, {page} bytes, is not a power of two from 1 byte to 64 KiB."
        near = 1 << (min(page, LARGEST).bit_length() - 1) if page > 0 else 1
        try_ = f"page {near} byte{'s' if near > 1 else ''}"
        found.append(Diagnostic(CHIP_PAGE, sentence, line.span, try_=try_))
        return None
    if size is not None and size % page:
        sentence = f"The chip's {size} bytes are no whole number of pages of {page} bytes."
        also = (Mark(said.first[nodes.Size].span, "its size"),)
        found.append(Diagnostic(CHIP_PAGE, sentence, line.span, also))
        return None
    return page


def _endurance(said: Statements, found: list[Diagnostic]) -> int | None:
    line = said.need(nodes.Endurance, "endurance 100_000 writes", found)
    if line is None:
        return None
    return bounds.whole(line.writes, "endurance of the chip", 1, _MOST_WRITES, found, "write")


def _brown_out(line: nodes.BrownOut | None, found: list[Diagnostic]) -> Fraction | None:
    if line is None:
        return None
    what = "brown-out of the chip"
    return bounds.measure_within(
        line.level, what, _LOWEST_BROWN_OUT, _HIGHEST_BROWN_OUT, SPELLINGS["V"], found
    )


def _blank(line: nodes.Blank | None, found: list[Diagnostic]) -> int:
    if line is None:
        return 0xFF
    blank = bounds.whole(line.value, "blank byte of the chip", 0, 0xFF, found, try_="blank {}")
    return 0xFF if blank is None else blank


def _hex_at(line: nodes.HexAt | None, size: int | None, found: list[Diagnostic]) -> int:
    if line is None:
        return 0
    last = _ADDRESSES - (size or 1)
    if line.address.value > last:
        address = short(line.address.span.text)
        sentence = f"With hex at {address} the memory does not end below 0x{_ADDRESSES:X}."
        found.append(Diagnostic(HEX_ADDRESS, sentence, line.span))
        return 0
    return line.address.value


def _left(line: nodes.LeaveFirst | None, size: int | None, found: list[Diagnostic]) -> int | None:
    if line is None:
        return None
    if line.count.value >= (LARGEST if size is None else size):
        sentence = f"Leaving the first {line.count.value} bytes free leaves nothing of the chip."
        found.append(Diagnostic(LEAVE_FIRST, sentence, line.span))
        return None
    return line.count.value


def _checksum(line: nodes.Checksum | None, found: list[Diagnostic]) -> crc.Algorithm | None:
    if line is None:
        return crc.find(DEFAULT_CHECKSUM)
    if isinstance(line.algorithm, nodes.WrittenChecksum):
        return _written(line.algorithm, found)
    name = line.algorithm.text
    algorithm = crc.find(name)
    if algorithm is None:
        near = crc.nearest_names(name)
        because = (f"The name may stand for {listed(near, 'or')}.",) if len(near) > 1 else ()
        sentence = f"There is no checksum {short(name)} in the catalogue."
        try_ = f"checksum {near[0]}" if near else "write out its width, poly, start, final and check"
        found.append(Diagnostic(CHECKSUM_UNKNOWN, sentence, line.algorithm.span, (), because, try_))
    return algorithm


def _written(node: nodes.WrittenChecksum, found: list[Diagnostic]) -> crc.Algorithm | None:
    width, poly, start = node.width.value, node.poly.value, node.start.value
    final, check = node.final.value, node.check.value
    fault = crc.fault(width, poly, start, final, check)
    if fault is not None:
        found.append(Diagnostic(CHECKSUM_FORM, fault, node.span))
        return None
    digits = width // 4
    name = (
        f"width {width} poly 0x{poly:0{digits}X} start 0x{start:0{digits}X}"
        f"{' reflected' if node.reflected else ''} final 0x{final:0{digits}X} check 0x{check:0{digits}X}"
    )
    algorithm = crc.Algorithm(name, width, poly, start, node.reflected is not None, final, check)
    given = crc.self_check(algorithm)
    if given == check:
        return algorithm
    sentence = f"These parameters give 0x{given:0{digits}X} for 123456789, not 0x{check:0{digits}X}."
    known = [(listed.check, name) for name, listed in crc.CATALOGUE.items() if listed.width == width]
    because = tuple(
        f"0x{value:0{digits}X} is the check value of {name}."
        for value, name in known
        if value in (given, check)
    )
    meant = next((name for value, name in known if value == check), None)
    try_ = f"checksum {meant}" if meant else "compare the parameters with their source"
    found.append(Diagnostic(CHECKSUM_CHECK, sentence, node.check.span, (), because, try_))
    return None
