"""The canonical form of a layout's meaning, and the fingerprints over it. FORMAT.md has an example."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterator, Mapping
from fractions import Fraction
from itertools import count
from typing import assert_never

from paramc.layout.layout import FORMAT, LOOK, FieldKind, Kind, Record
from paramc.model.items import Flag, Item, Param, Selector, Trim
from paramc.model.product import Product
from paramc.model.scale import Coded, Geometric, Points, Scale, SCurve, Stepped, Straight, ThreePoint
from paramc.numbers.units import Unit

BENCH_ONLY = (Kind.BENCH,)
ALL = tuple(Kind)


def fingerprint(product: Product, records: Collection[Record], kinds: Collection[Kind]) -> int:
    """The first four bytes of SHA-256 over the canonical form, the first byte highest."""
    digest = hashlib.sha256(canonical(product, records, kinds).encode("ascii")).digest()
    return int.from_bytes(digest[:4], "big")


def fingerprints(product: Product, records: Collection[Record]) -> tuple[int, int, int]:
    """Of all kinds, of the player's (setup, presets, state), and of the bench."""
    return (
        fingerprint(product, records, ALL),
        fingerprint(product, records, LOOK),
        fingerprint(product, records, BENCH_ONLY),
    )


def canonical(product: Product, records: Collection[Record], kinds: Collection[Kind]) -> str:
    """What decides the meaning of the stored bits of some kinds: ASCII, one fact a line.

    Numbers are exact, in the base unit of their dimension, as an integer or a fraction in lowest
    terms. What may change without changing a stored bit's meaning (labels, texts, defaults, a taper
    over a grid of steps, tables, the name of the checksum) is not in it.
    """
    return "".join(f"{line}\n" for line in _lines(product, records, kinds))


def _lines(product: Product, records: Collection[Record], kinds: Collection[Kind]) -> Iterator[str]:
    algorithm = product.chip.checksum
    yield f"layout {FORMAT}"
    yield (
        f"checksum width {algorithm.width} poly {algorithm.poly} start {algorithm.init}"
        f"{' reflected' if algorithm.reflected else ''} final {algorithm.xorout}"
    )
    items = {item.name: item for item in product.items}
    for record in records:
        if record.kind in kinds:
            yield from _of_record(product, items, record)


def _of_record(product: Product, items: Mapping[str, Item], record: Record) -> Iterator[str]:
    yield (
        f"record {record.kind.value} order {record.order.value} numbers {record.numbers}"
        f" length {record.length} growth {record.growth}"
    )
    for address in record.places:
        yield f"place {address}"
    for field in record.fields:
        kind = field.kind.value.replace(" ", "-")
        yield f"field {field.name} {kind} bit {field.bit} width {field.width} codes {field.codes}"
        if field.kind is FieldKind.ITEM:
            yield from _of_item(items[field.name])
        elif field.kind is FieldKind.HARDWARE:
            boards = product.boards
            for place in range(max(boards, default=-1) + 1):
                yield f"board {json.dumps(boards[place])}" if place in boards else "gone"


def _of_item(item: Item) -> Iterator[str]:
    match item:
        case Param() | Trim():
            yield from _of_scale(item.scale)
        case Selector():
            places = count()
            for code, way in zip(item.places, item.ways, strict=True):
                while next(places) < code:
                    yield "gone"
                number = way.number
                is_number = "" if number is None else f" {number.base} {_measures(number.unit)}"
                yield f"way {way.name}{is_number}"
        case Flag():
            yield "way off"
            yield "way on"
        case other:
            assert_never(other)


def _of_scale(scale: Scale) -> Iterator[str]:
    yield f"measures {_measures(scale.unit)}"
    if scale.off_at_stop:
        yield "off 0"
    yield f"first {_in_base(scale.first, scale.unit)}"
    match scale.grid:
        case Stepped():
            yield f"each {_in_base(scale.signed_step, scale.unit)}"
        case Coded(bits):
            yield f"last {_in_base(scale.last, scale.unit)}"
            yield f"coded {bits}"
            match scale.law:
                case Straight():
                    yield "law straight"
                case Geometric():
                    yield "law geometric"
                case ThreePoint(noon):
                    yield f"law three-point {_in_base(noon, scale.unit)}"
                case SCurve(share):
                    yield f"law s {share}"
                case Points(points):
                    told = " ".join(f"{x} {_in_base(v, scale.unit)}" for x, v in points)
                    yield f"law points {told}"
                case other:
                    assert_never(other)
        case other:
            assert_never(other)


def _in_base(number: Fraction, unit: Unit) -> Fraction:
    return number * unit.factor


def _measures(unit: Unit) -> str:
    return unit.dimension.name.lower().replace("_", "-")
