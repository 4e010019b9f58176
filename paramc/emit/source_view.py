"""What the source's template is given: ready lines and numbers."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.emit.constants import Constants, hexadecimal, numbers, unsigned
from paramc.emit.escape import c_comment, comment_lines
from paramc.emit.evaluators import EvaluatorsView
from paramc.emit.factory_codes import Factory, SoundView, factory_of
from paramc.emit.golden import descriptors_sum, row_width, values_counted, values_sum
from paramc.emit.layout_rows import RecordRows, Row, Rows
from paramc.emit.older_view import OlderView, older_of
from paramc.emit.packing import LineView, packing_of
from paramc.emit.panel_view import GestureView, ModeView, Panel, ShowView
from paramc.emit.play_view import Play
from paramc.emit.start import Start, start_of
from paramc.emit.tables_view import EngineView, KnobView, Tables
from paramc.emit.vacancies import VacancyView, vacancies, vacancy_data
from paramc.frozen import dataclass
from paramc.layout.effort import READ_AT_ONCE
from paramc.layout.layout import LOOK, Kind, Layout
from paramc.layout.older import OldRecord
from paramc.model.product import Order
from paramc.numbers import crc
from paramc.numbers.crc import Algorithm


@dataclass(frozen=True, slots=True)
class RowView:
    """A row of the table of fields."""

    last: str
    standard: str
    structure: str
    member: str
    width: str


@dataclass(frozen=True, slots=True)
class KindView:
    """A row of the table of kinds."""

    name: str
    length: str
    body: str
    row: str
    end: str
    first: str
    stop: str
    places: str


@dataclass(frozen=True, slots=True)
class SafeView:
    """A trim that plays with another code than its nominal one while it is lost."""

    name: str
    code: str


@dataclass(frozen=True, slots=True)
class SourceView:
    """Everything that source.c.j2 and what it includes print."""

    file: str
    header: str
    suffix: str
    build: str
    constants: tuple[str, ...]
    index_type: str
    nothing: str
    offset_type: str
    length_type: str
    offset_most: str
    look_rows: str
    row_count: str
    rows: tuple[RowView, ...]
    has_vacancies: bool
    vacancies: tuple[VacancyView, ...]
    has_old_vacancies: bool
    tells_vacant: bool
    kind_count: str
    kinds: tuple[KindView, ...]
    place_count: str
    places: tuple[str, ...]
    seen: str
    number: str
    pieces: bool
    paged: bool
    code_high: str
    code_low: str
    own: str
    trial: bool
    fingerprints: str
    fingerprint_high: str
    fingerprint_low: str
    factory: bool
    sounds: tuple[SoundView, ...]
    factory_names: bool
    name_rows: tuple[str, ...]
    first_slot: str
    engaged: str
    names: bool
    serial: bool
    setup: bool
    setup_row: str
    setup_end: str
    bench: bool
    preset_row: str
    preset_end: str
    bench_row: str
    bench_end: str
    safe: tuple[SafeView, ...]
    has_standards: bool
    start: Start
    start_text: str
    tables: tuple[Constants, ...]
    evaluators: EvaluatorsView
    has_signed: bool
    has_engines: bool
    engines: tuple[EngineView, ...]
    has_knobs: bool
    knobs: tuple[KnobView, ...]
    has_values: bool
    tested: int
    values_sum: str
    descriptors_sum: str
    sum_comment: str
    sum_type: str
    sum_file: str
    bits_file: str
    age_file: str
    unpack_file: str
    has_old_rows: bool
    has_carries: bool
    older: OlderView
    straight: bool
    unpacking: str
    packing: tuple[str, ...]
    setup_lines: tuple[LineView, ...]
    state_lines: tuple[LineView, ...]
    preset_lines: tuple[LineView, ...]
    sum_byte: str
    sum_rest: str
    name_parameter: str
    name_argument: str
    no_name: str
    first_of_look: str
    record: str
    has_sets: bool
    sets: tuple[str, ...]
    has_modes: bool
    modes: tuple[ModeView, ...]
    has_gestures: bool
    gestures: tuple[GestureView, ...]
    has_shows: bool
    shows: tuple[ShowView, ...]
    play: Play


def source_view(
    layout: Layout,
    rows: Rows,
    tables: Tables,
    panel: Panel,
    play: Play,
    older: Sequence[OldRecord],
    nothing: int,
) -> SourceView:
    """The view of a layout's source, without the number of its build. older: what earlier revisions saved.
    nothing: the number of no item."""
    product = layout.product
    algorithm = product.chip.checksum
    slots = product.holds.preset_slots
    places = [place for kind in rows.kinds for place in kind.record.places]
    stops = _stops(rows)
    factory = factory_of(layout, rows)
    start = start_of(layout)
    packing = packing_of(rows)
    setup, bench = rows.kind(Kind.SETUP), rows.kind(Kind.BENCH)
    presets = rows.kinds[-1]
    slot_bits = (slots - 1).bit_length()
    lengths = _narrowest(max(record.length for record in layout.records))
    offsets = _narrowest(_most_bytes(rows))
    tested = values_counted(layout)
    old, old_data = older_of(rows, older, product.prefix, nothing)
    vacant = [row.vacant for row in rows.rows]
    rest = factory.codes + old_data + vacancy_data(vacant)
    return SourceView(
        file=f"{product.name}.paramc",
        header=f"{product.name}.h",
        suffix=".c",
        build="",
        constants=_constants(layout, rows, factory, nothing, offsets, lengths, len(old.kinds)),
        index_type="uint8_t" if nothing == 0xFF else "uint16_t",
        nothing=f"0x{nothing:X}u",
        offset_type=offsets,
        length_type=lengths,
        offset_most="0xFFu" if offsets == "uint8_t" else "0xFFFFu",
        look_rows=unsigned(rows.of_look),
        row_count=unsigned(len(rows.rows)),
        rows=tuple(_row(row, product.prefix) for row in rows.rows),
        has_vacancies=any(vacant),
        vacancies=vacancies(vacant),
        has_old_vacancies=bool(old.vacancies),
        tells_vacant=any(vacant) or bool(old.vacancies),
        kind_count=unsigned(len(rows.kinds)),
        kinds=tuple(_kind(kind, stop, algorithm.size) for kind, stop in zip(rows.kinds, stops, strict=True)),
        place_count=unsigned(len(places)),
        places=numbers(places, "u"),
        seen=unsigned(-(-(len(rows.kinds) - 1 + slots) // 8)),
        number=_number(slot_bits, product.chip.order),
        paged=product.chip.page > 1,
        pieces=max(record.length for record in layout.records) > READ_AT_ONCE,
        code_high=hexadecimal(product.code >> 8, 8),
        code_low=hexadecimal(product.code & 0xFF, 8),
        own=" && ".join(
            f"(identity[{at}] == {hexadecimal(byte, 8)})"
            for at, byte in enumerate(layout.fingerprint.to_bytes(4, "big"), 3)
        ),
        trial=layout.trial,
        fingerprints=", ".join(
            hexadecimal(byte, 8)
            for fingerprint in (layout.look_fingerprint, layout.bench_fingerprint)
            for byte in fingerprint.to_bytes(4, "big")
        ),
        fingerprint_high=hexadecimal(layout.fingerprint >> 16, 16),
        fingerprint_low=hexadecimal(layout.fingerprint & 0xFFFF, 16),
        factory=bool(factory.codes),
        sounds=factory.sounds,
        factory_names=bool(factory.names),
        name_rows=factory.name_rows,
        first_slot=unsigned(product.first_preset - 1),
        engaged=unsigned(factory.engaged),
        names=bool(product.holds.preset_names),
        serial=bool(product.holds.serial_characters),
        setup=setup is not None,
        preset_row=unsigned(presets.start),
        preset_end=unsigned(presets.end),
        setup_row=unsigned(setup.start if setup else 0),
        setup_end=unsigned(setup.end if setup else 0),
        bench=bench is not None,
        bench_row=unsigned(bench.start if bench else 0),
        bench_end=unsigned(bench.end if bench else 0),
        safe=tuple(
            SafeView(trim.name, unsigned(trim.safe))
            for trim in product.trims
            if trim.safe is not None and trim.safe != trim.nominal
        ),
        has_standards=setup is not None or bench is not None,
        start=start,
        start_text=start.text,
        tables=tables.constants,
        evaluators=tables.evaluators,
        has_signed=any(f"{product.prefix}_signed(" in engine.value for engine in tables.engines),
        has_engines=bool(tables.engines),
        engines=tables.engines,
        has_knobs=bool(tables.knobs),
        knobs=tables.knobs,
        has_values=bool(tables.engines or tables.knobs),
        tested=tested,
        values_sum=hexadecimal(values_sum(layout), algorithm.width),
        descriptors_sum=hexadecimal(
            descriptors_sum(algorithm, rows, stops, places, rest), algorithm.width
        ),
        sum_comment=_sum_comment(algorithm),
        sum_type=f"uint{32 if algorithm.width == 24 else algorithm.width}_t",
        sum_file="sum_low_first.c" if algorithm.reflected else "sum_high_first.c",
        bits_file="bits_high_first.c" if product.chip.order is Order.BIG else "bits_low_first.c",
        age_file="age_trial.c" if layout.trial else "age_release.c",
        unpack_file="unpack_older.c.j2" if old.kinds else "unpack_today.c.j2",
        has_old_rows=bool(old.rows),
        has_carries=bool(old.carries),
        older=old,
        straight=packing.straight,
        unpacking="" if packing.straight else ", NULL",
        packing=comment_lines(packing.text),
        setup_lines=packing.setup,
        state_lines=packing.state,
        preset_lines=packing.presets,
        sum_byte="(uint8_t)(sum & 0xFFu)"
        if algorithm.reflected
        else f"(uint8_t)(sum >> {product.prefix.upper()}_DOWN_)",
        sum_rest="0u"
        if algorithm.width == 8
        else f"({product.prefix}_sum)(sum {'>>' if algorithm.reflected else '<<'} 8)",
        name_parameter=", const char *name" if product.holds.preset_names else "",
        name_argument=", name" if product.holds.preset_names else "",
        no_name=", NULL" if product.holds.preset_names else "",
        first_of_look=f"{product.prefix.upper()}_{'STATE' if setup is None else 'SETUP'}_",
        record=unsigned(max(record.length for record in layout.records if record.kind in LOOK)),
        has_sets=any(mode.sets for mode in product.modes),
        sets=panel.sets,
        has_modes=bool(panel.modes),
        modes=panel.modes,
        has_gestures=bool(panel.gestures),
        gestures=panel.gestures,
        has_shows=bool(panel.shows),
        shows=panel.shows,
        play=play,
    )


def _row(row: Row, prefix: str) -> RowView:
    return RowView(
        last=unsigned(row.last),
        standard=unsigned(row.standard),
        structure=f"{prefix}_{row.structure}",
        member=row.member,
        width=hexadecimal(row_width(row.width, row.wide), 8),
    )


def _stops(rows: Rows) -> tuple[int, ...]:
    """Just past the last place of each kind, in the list of all places."""
    stops: list[int] = []
    for kind in rows.kinds:
        stops.append((stops[-1] if stops else 0) + len(kind.record.places))
    return tuple(stops)


def _kind(kind: RecordRows, stop: int, stored: int) -> KindView:
    record = kind.record
    return KindView(
        name=c_comment(record.kind.value),
        length=unsigned(record.length),
        body=unsigned(record.length - stored),
        row=unsigned(kind.start),
        end=unsigned(kind.end),
        first=unsigned(stop - len(record.places)),
        stop=unsigned(stop),
        places=unsigned(len(record.places)),
    )


def _most_bytes(rows: Rows) -> int:
    """At most so many bytes in a structure, whatever a compiler leaves between members."""
    return 2 * max(sum(row.structure == one for row in rows.rows) for one in ("look", "trims")) + 4


def _constants(
    layout: Layout, rows: Rows, factory: Factory, nothing: int, offsets: str, lengths: str, old_kinds: int
) -> tuple[str, ...]:
    """Definitions for this file alone; their names end in an underscore, which no name of a product does."""
    product = layout.product
    upper = product.prefix.upper()
    algorithm = product.chip.checksum
    width = algorithm.width
    kinds = [kind.record.kind for kind in rows.kinds]
    slot_bits = (product.holds.preset_slots - 1).bit_length()
    coded = crc.update(algorithm, crc.start(algorithm), product.code.to_bytes(2, "big"))
    poly = int(f"{algorithm.poly:0{width}b}"[::-1], 2) if algorithm.reflected else algorithm.poly
    words = {
        **{
            kind.name: unsigned(kinds.index(kind)) if kind in kinds else "0xFFu"
            for kind in Kind
        },
        "KINDS": unsigned(len(kinds)),
        "NUMBERS": unsigned(len(kinds) - 1 + product.holds.preset_slots),
        "NUMBER": unsigned(slot_bits),
        "BLANKS": hexadecimal(product.chip.blank, 8),
        "START": hexadecimal(crc.start(algorithm), width),
        "CODED": hexadecimal(coded, width),
        "RESIDUE": hexadecimal(crc.residue(algorithm), width),
        # What the check message leaves behind before the final value is applied.
        "PROOF": hexadecimal(algorithm.check ^ algorithm.xorout, width),
        "POLY": hexadecimal(poly, width),
        "STORED": unsigned(algorithm.size),
        "FINAL": hexadecimal(algorithm.xorout, width),
        "MARK": unsigned(layout.revision_byte),
        "LOOK": unsigned(sum(len(record.places) for record in layout.records if record.kind not in LOOK)),
        "PAGE": unsigned(min(product.chip.page, 128)),
    }
    if not algorithm.reflected:
        words |= {
            "TOP": hexadecimal(1 << width - 1, width),
            "DOWN": str(width - 8),
            "ALL": hexadecimal((1 << width) - 1, width),
        }
    if old_kinds:
        words["OLD_KINDS"] = unsigned(old_kinds)
    if factory.codes:
        words |= {"FACTORY": unsigned(len(factory.sounds)), "FACTORED": unsigned(factory.bytes_each)}
    if factory.names:
        words["NAMED"] = unsigned(len(factory.name_rows))
    readers = {"INDEX": "uint8_t" if nothing == 0xFF else "uint16_t", "OFFSET": offsets, "LENGTH": lengths}
    return (
        *(f"{upper}_{word}_ {value}" for word, value in words.items()),
        *(
            f"{upper}_FLASH_{word}_(p) {upper}_FLASH_{'U8' if kind == 'uint8_t' else 'U16'}(p)"
            for word, kind in readers.items()
        ),
    )


def _number(bits: int, order: Order) -> str:
    """The number of a preset's record, from its first byte behind the head."""
    if bits == 0:
        return "0u"
    byte = "store->bytes[2]"
    if bits == 8:
        return byte
    if order is Order.BIG:
        return f"(uint8_t)({byte} >> {8 - bits})"
    return f"({byte} & {hexadecimal((1 << bits) - 1, 8)})"


def _narrowest(most: int) -> str:
    return "uint8_t" if most <= 0xFF else "uint16_t"


def _sum_comment(algorithm: Algorithm) -> str:
    width = algorithm.width
    order = "low" if algorithm.reflected else "high"
    figures = (
        ("polynomial", algorithm.poly), ("start", algorithm.init), ("final", algorithm.xorout),
        ("check value", algorithm.check),
    )  # fmt: skip
    listed = ", ".join(f"{word} 0x{value:0{width // 4}X}" for word, value in figures)
    return c_comment(f"{algorithm.name}: {width} bits, {order} bit first, {listed}")
