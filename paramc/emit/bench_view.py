"""What the template of the bench's writers is given: ready lines and numbers."""

from __future__ import annotations

from paramc.emit.constants import hexadecimal, numbers, unsigned
from paramc.emit.layout_rows import Rows
from paramc.emit.source_view import SourceView
from paramc.frozen import dataclass
from paramc.layout.layout import Kind, Layout
from paramc.model.product import Order

_SHARED = ("MARK", "START", "CODED", "RESIDUE", "POLY", "STORED", "FINAL", "PAGE", "TOP", "DOWN", "ALL")
"""Constants that the source has too, by their words."""


@dataclass(frozen=True, slots=True)
class FieldView:
    """A field of a bench record: its member of the trims, its highest code, its width."""

    member: str
    last: str
    width: str


@dataclass(frozen=True, slots=True)
class BenchView:
    """Everything that bench.c.j2 and what it includes print."""

    file: str
    header: str
    suffix: str
    build: str
    constants: tuple[str, ...]
    and_bench: str
    places: tuple[str, ...]
    place_count: str
    identities: str
    sum_file: str
    sum_byte: str
    sum_rest: str
    length_type: str
    low_first: bool
    bench: bool
    trial_bench: bool
    fingerprint: tuple[str, ...]
    fields: tuple[FieldView, ...]
    bounded: tuple[FieldView, ...]
    bench_body: str
    identity_body: str
    serial: bool
    no_serial: str
    boards: bool
    last_board: str
    fingerprint_high: str
    fingerprint_low: str


def bench_view(layout: Layout, rows: Rows, source: SourceView) -> BenchView:
    """The view of a layout's bench writers, beside that of its source, without the number of its build."""
    product = layout.product
    upper = product.prefix.upper()
    identity, bench = layout.record(Kind.IDENTITY), layout.record(Kind.BENCH)
    assert identity is not None
    of_bench = rows.kind(Kind.BENCH)
    shared = tuple(f"{upper}_{word}_" for word in _SHARED)
    fields = () if of_bench is None else tuple(
        (row, FieldView(row.member, unsigned(row.last), unsigned(row.width)))
        for row in rows.rows[of_bench.start : of_bench.end]
    )
    return BenchView(
        file=source.file,
        header=source.header,
        suffix="_bench.c",
        build="",
        constants=tuple(line for line in source.constants if line.split()[0] in shared),
        and_bench=" and bench" if bench else "",
        places=numbers([*identity.places, *(bench.places if bench else ())], "u"),
        place_count=unsigned(len(identity.places) + (len(bench.places) if bench else 0)),
        identities=unsigned(len(identity.places)),
        sum_file=source.sum_file,
        sum_byte=source.sum_byte,
        sum_rest=source.sum_rest,
        length_type=source.length_type,
        low_first=bench is not None and product.chip.order is Order.LITTLE,
        bench=bench is not None,
        trial_bench=bench is not None and layout.trial,
        fingerprint=tuple(hexadecimal(byte, 8) for byte in layout.bench_fingerprint.to_bytes(4, "big")),
        fields=tuple(field for _, field in fields),
        # A comparison that the member's type makes needless is a warning.
        bounded=tuple(field for row, field in fields if row.last < (0xFFFF if row.wide else 0xFF)),
        bench_body=unsigned(bench.length - product.chip.checksum.size if bench else 0),
        identity_body=unsigned(identity.length - product.chip.checksum.size),
        serial=source.serial,
        no_serial=', ""' if source.serial else "",
        boards=bool(product.boards),
        last_board=unsigned(max(product.boards, default=0)),
        fingerprint_high=source.fingerprint_high,
        fingerprint_low=source.fingerprint_low,
    )
