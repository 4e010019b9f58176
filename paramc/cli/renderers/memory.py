"""What the memory costs, how long it lasts and how quick it is, for people and as data."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from paramc.cli.renderers.table import table
from paramc.layout.budget import Budget, Cost, Save, Wear, budget
from paramc.layout.effort import CLOCKS_A_BYTE, READ_AT_ONCE, address_bytes
from paramc.layout.layout import Layout
from paramc.layout.wear import FEWEST_YEARS
from paramc.model.product import Chip
from paramc.numbers import hamming
from paramc.numbers.quantity import decimal_text

_COLUMNS = ("kind", "places", "record", "idle", "total", "bits", "padding", "growth", "distance")


def as_text(layout: Layout) -> Iterator[str]:
    """Where the bytes go, what a save takes, what a start takes: a line each."""
    chip, found = layout.product.chip, budget(layout)
    yield from _costs(chip, found)
    yield ""
    yield from _saves(chip, found)
    yield ""
    yield from _start(chip, found)


def as_data(layout: Layout) -> dict[str, Any]:
    """Bytes unless a key says otherwise. Times in milliseconds, years, as decimal texts."""
    found = budget(layout)
    wears = {wear.kind: wear for wear in found.wears}
    saves = {save.kind: save for save in found.saves}
    return {
        "size": found.size,
        "clear": found.clear,
        "used": found.used,
        "free": found.free,
        "read_at_start": found.start.once,
        "read_again_at_start": found.start.again,
        "write_milliseconds": _exactly(found.write_seconds),
        "buses": [
            {
                "hertz": bus.hertz,
                "start_milliseconds": _exactly(bus.start),
                "longest_step_milliseconds": _exactly(bus.longest_step),
            }
            for bus in found.buses
        ],
        "false_pass": hamming.false_pass_text(layout.product.chip.checksum),
        "kinds": [
            {
                "kind": cost.kind.value,
                "places": cost.places,
                "chosen": cost.chosen,
                "record": cost.record_bytes,
                "total": cost.total_bytes,
                "payload_bits": cost.payload_bits,
                "padding_bits": cost.padding_bits,
                "growth": cost.growth_bytes,
                "head": cost.head_bytes,
                "checksum": cost.checksum_bytes,
                "idle": cost.idle_bytes,
                "years": _years(wears[cost.kind]),
                "distance": _distance(found, cost),
                "save": _save_data(wears[cost.kind], saves[cost.kind]) if cost.kind in saves else None,
            }
            for cost in found.costs
        ],
    }


def _save_data(wear: Wear, save: Save) -> dict[str, Any]:
    return {
        "per_day": wear.saves,
        "common": wear.common,
        "places": wear.places,
        "wear": wear.cycles,
        "writes": save.writes,
        "seal": save.seal,
        "body": save.body,
        "checksum": save.checksum,
        "retired": save.retired,
        "further": save.further,
        "milliseconds": _exactly(save.seconds),
    }


def _costs(chip: Chip, found: Budget) -> Iterator[str]:
    yield (
        f"Memory: {_number(found.size - found.free)} of {_number(found.size)} bytes,"
        f" {_number(found.free)} free."
    )
    yield ""
    rows = [
        (
            cost.kind.value,
            f"{cost.places} chosen" if cost.chosen else str(cost.places),
            str(cost.record_bytes),
            str(cost.idle_bytes),
            _number(cost.total_bytes),
            str(cost.payload_bits),
            str(cost.padding_bits),
            str(cost.growth_bytes),
            _distance(found, cost),
        )
        for cost in found.costs
    ]
    rows.insert(0, ("left clear", "", "", "", _number(found.clear), "", "", "", ""))
    yield from table(_COLUMNS, rows, "lrrrrrrrr")
    yield ""
    if any(cost.chosen for cost in found.costs):
        yield "  chosen: the file leaves it open. Identity, bench and setup get two copies; spare places and"
        yield f"  copies of state are the fewest that last {FEWEST_YEARS} years, as far as there is room."
    yield (
        "  record, idle and total in bytes: a record holds its bits, their padding, its growth, a head of"
        f" {found.costs[0].head_bytes} and a checksum of {found.costs[0].checksum_bytes}."
    )
    yield "  distance: flipped bits that it takes, at the least, to pass for sound."
    yield f"  Random bytes pass for a record {hamming.false_pass_text(chip.checksum)}."


def _saves(chip: Chip, found: Budget) -> Iterator[str]:
    wears = {wear.kind: wear for wear in found.wears}
    yield f"Saves: each day's all on one number; the endurance is {_number(chip.endurance)} writes."
    yield ""
    rows = [_save_row(wears[save.kind], save) for save in found.saves]
    yield from table(("kind", "a day", "in turn", "wear", "years", "writes", "time"), rows, "lrrrrrr")
    yield ""
    if any(wears[save.kind].common for save in found.saves):
        yield "  common: the file says no saves, so a common number is taken; say saves for a true one."
    by_byte = chip.page == 1
    worked = "writes of a cell of the checksum" if by_byte else "cycles of the page with the checksum"
    yield f"  in turn: the places that saves of one number go round. wear: {worked} in a save."
    write = "a byte" if by_byte else f"a page of {chip.page} bytes at the most"
    yield f"  writes: of {write}, in the longest save, where every byte differs: to break the seal,"
    yield "  for the body, for the checksum, to retire the copy before."
    further = max(save.further for save in found.saves)
    if further:
        yield f"  Each further copy that power cuts have left is one write more; {further} are the most."
    source = (
        "which data sheets of AVR processors give for their EEPROM, rounded up"
        if by_byte
        else "the longest in most data sheets of serial memories (AT24C256C, M24C02)"
    )
    yield f"  time: at {_milliseconds(found.write_seconds)} a write, {source};"
    yield "  reading back comes on top."


def _save_row(wear: Wear, save: Save) -> tuple[str, ...]:
    return (
        save.kind.value,
        f"{_number(wear.saves)} common" if wear.common else _number(wear.saves),
        str(wear.places),
        str(wear.cycles),
        _years(wear) or "",
        f"{_number(save.writes)} = {save.seal} + {save.body} + {save.checksum} + {save.retired}",
        _milliseconds(save.seconds),
    )


def _start(chip: Chip, found: Budget) -> Iterator[str]:
    start = found.start
    again = f", {_number(start.again)} of them twice" if start.again else ""
    yield f"Start: {_number(start.once)} bytes are read{again}."
    if start.again:
        yield "  A place without a sound record, as spare ones are, has to read alike two times."
    if not found.buses:
        yield f"  The longest step of a save is one byte written, {_milliseconds(found.write_seconds)}."
        return
    yield ""
    rows = [
        (f"{bus.hertz // 1000} kHz", _milliseconds(bus.start), _milliseconds(bus.longest_step))
        for bus in found.buses
    ]
    yield from table(("I2C bus", "start", "longest step"), rows, "rrr")
    yield ""
    address = "one byte" if address_bytes(chip) == 1 else "two bytes"
    yield (
        f"  Counted are {CLOCKS_A_BYTE} clocks a byte: of the records, and for each reading of {READ_AT_ONCE}"
        " bytes at the most"
    )
    yield f"  the device address twice and the memory address in {address}. Start and stop conditions and the"
    yield "  processor's own time come on top."
    yield "  longest step: a page sent and written, or a place read twice, whichever takes longer."


def _years(wear: Wear) -> str | None:
    return None if wear.years is None else decimal_text(wear.years, 1)


def _distance(costs: Budget, cost: Cost) -> str:
    found = next(one.distance for one in costs.protections if cost.kind in one.kinds)
    return f"at least {found}" if found == hamming.AT_LEAST else str(found)


def _milliseconds(seconds: Fraction) -> str:
    return f"{decimal_text(seconds * 1000, 1)} ms"


def _exactly(seconds: Fraction) -> str:
    return decimal_text(seconds * 1000)


def _number(value: int) -> str:
    return f"{value:,}".replace(",", " ")
