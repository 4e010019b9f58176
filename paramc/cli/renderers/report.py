"""What a build made and what it costs, for people and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from paramc.cli.files import Output
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.layout.budget import Budget, Cost, Wear, budget
from paramc.layout.layout import Layout
from paramc.numbers import hamming
from paramc.numbers.quantity import decimal_text
from paramc.tables.table import FullTable, LinearRule, Table, flash_bytes

FORMAT = 1


def as_text(layout: Layout, made: Sequence[Output], folder: str) -> list[str]:
    """The report, a line each."""
    return [
        *_made(layout, made, folder),
        "",
        *_memory(layout, budget(layout)),
        "",
        *_tables(layout),
    ]


def as_data(layout: Layout, made: Sequence[Output]) -> dict[str, Any]:
    """The report as JSON would have it. Bytes unless a key says bits; years as a decimal text."""
    costs = budget(layout)
    wears = {wear.kind: wear for wear in costs.wears}
    return {
        "format": FORMAT,
        "product": layout.product.name,
        "revision": layout.product.revision,
        "trial": layout.trial,
        "fingerprint": f"{layout.fingerprint:08X}",
        "files": [{"name": output.name, "bytes": len(output.data)} for output in made],
        "memory": {
            "size": costs.size,
            "clear": costs.clear,
            "used": costs.used,
            "free": costs.free,
            "read_at_start": costs.read_at_start,
            "false_pass": hamming.false_pass_text(layout.product.chip.checksum),
            "kinds": [
                {
                    "kind": cost.kind.value,
                    "places": cost.places,
                    "record": cost.record_bytes,
                    "total": cost.total_bytes,
                    "payload_bits": cost.payload_bits,
                    "padding_bits": cost.padding_bits,
                    "growth": cost.growth_bytes,
                    "head": cost.head_bytes,
                    "checksum": cost.checksum_bytes,
                    "idle": cost.idle_bytes,
                    "years": _years(wears[cost.kind]),
                    "distance": _distance(costs, cost),
                }
                for cost in costs.costs
            ],
        },
        "tables": [
            {"use": use, "of": of, "form": form, "codes": codes, "flash": flash}
            for use, of, form, codes, flash in _uses(layout)
        ],
    }


def _made(layout: Layout, made: Sequence[Output], folder: str) -> Iterator[str]:
    product = layout.product
    state = "a trial: no release froze it, and every image says so"
    yield f"{plain(product.label)}, revision {product.revision}, {state if layout.trial else 'released'}."
    yield f"Fingerprint {layout.fingerprint:08X}. Written to {plain(folder)}:"
    yield ""
    yield from table(("file", "bytes"), [(o.name, _number(len(o.data))) for o in made], "lr")


def _memory(layout: Layout, costs: Budget) -> Iterator[str]:
    yield (
        f"Memory: {_number(costs.size - costs.free)} of {_number(costs.size)} bytes,"
        f" {_number(costs.free)} free. A start reads {_number(costs.read_at_start)} bytes."
    )
    yield ""
    wears = {wear.kind: wear for wear in costs.wears}
    rows = [
        (
            cost.kind.value,
            str(cost.places),
            str(cost.record_bytes),
            str(cost.idle_bytes),
            _number(cost.total_bytes),
            str(cost.payload_bits),
            str(cost.padding_bits),
            str(cost.growth_bytes),
            _years(wears[cost.kind]) or "",
            _distance(costs, cost),
        )
        for cost in costs.costs
    ]
    rows.insert(0, ("left clear", "", "", "", _number(costs.clear), "", "", "", "", ""))
    head = ("kind", "places", "record", "idle", "total", "bits", "padding", "growth", "years", "distance")
    yield from table(head, rows, "lrrrrrrrrr")
    yield ""
    yield (
        "  record, idle and total in bytes: a record holds its bits, their padding, its growth, a head of"
        f" {costs.costs[0].head_bytes} and a checksum of {costs.costs[0].checksum_bytes}."
    )
    yield "  years: until the hardest-worked cell has its endurance behind it, all saves on one number."
    yield "  distance: flipped bits that it takes, at the least, to pass for sound."
    yield f"  Random bytes pass for a record {hamming.false_pass_text(layout.product.chip.checksum)}."


def _tables(layout: Layout) -> Iterator[str]:
    uses = list(_uses(layout))
    yield f"Tables: {_number(sum(flash for *_, flash in uses))} bytes of flash."
    if uses:
        yield ""
        rows = [(use, of, form, _number(codes), _number(flash)) for use, of, form, codes, flash in uses]
        yield from table(("use", "of", "form", "codes", "flash"), rows, "lllrr")


def _uses(layout: Layout) -> Iterator[tuple[str, str, str, int, int]]:
    for engine in layout.engines:
        yield "engine", engine.item, _form(engine.table), engine.table.entries, flash_bytes(engine.table)
    for knob in layout.knobs:
        yield "knob", knob.name, _form(knob.table), knob.table.entries, flash_bytes(knob.table)


def _form(table_: Table) -> str:
    match table_:
        case LinearRule():
            return "linear rule"
        case FullTable():
            return "full table"


def _years(wear: Wear) -> str | None:
    return None if wear.years is None else decimal_text(wear.years, 1)


def _distance(costs: Budget, cost: Cost) -> str:
    found = next(one.distance for one in costs.protections if cost.kind in one.kinds)
    return f"at least {found}" if found == hamming.AT_LEAST else str(found)


def _number(value: int) -> str:
    return f"{value:,}".replace(",", " ")
