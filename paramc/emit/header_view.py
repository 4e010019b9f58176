"""What the header's template is given: ready lines and numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from paramc.emit.constants import hexadecimal, unsigned
from paramc.emit.escape import c_comment, c_string, comment_lines
from paramc.emit.layout_rows import Row, Rows
from paramc.emit.panel_view import ControlView, JumperView, ModeView, Panel
from paramc.emit.play_view import Play
from paramc.emit.source_view import SourceView
from paramc.emit.tables_view import EngineView, KnobView, block
from paramc.emit.wording import item_text, value_text
from paramc.frozen import dataclass
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout
from paramc.model.items import Item, Selector
from paramc.model.panel import Knob
from paramc.numbers.quantity import decimal_text


@dataclass(frozen=True, slots=True)
class TextView:
    """A text for people in the head of the file."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MemberView:
    """A member of a structure, with its comment."""

    type: str
    name: str
    comment: str


@dataclass(frozen=True, slots=True)
class WayView:
    """The constant of a way."""

    constant: str
    code: str
    comment: str


@dataclass(frozen=True, slots=True)
class ItemView:
    """The constants of an item."""

    upper: str
    comment: tuple[str, ...]
    label: str
    index: str
    codes: str
    standard: str
    ways: tuple[WayView, ...]


@dataclass(frozen=True, slots=True)
class EndsView:
    """The file's ends of a knob."""

    upper: str
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class HeaderView:
    """Everything that header.h.j2 prints."""

    file: str
    source: str
    build: str
    title: tuple[str, ...]
    texts: tuple[TextView, ...]
    brown_out: str
    code: str
    revision: str
    unreleased: str
    fingerprint: str
    memory: str
    label: str
    slots: str
    serial: bool
    serial_length: str
    names: bool
    name_length: str
    hardware: tuple[str, ...]
    index_type: str
    nothing: str
    look: tuple[MemberView, ...]
    items: tuple[ItemView, ...]
    look_rows: str
    setup: bool
    bench: bool
    has_ends: bool
    trims: tuple[MemberView, ...]
    seen: str
    kind_count: str
    longest_record: str
    record: str
    spares: str
    name_parameter: str
    name_range: str
    bench_file: str
    bench_record: str
    and_trims: str
    reset_all: str
    no_such_serial: str
    name_reads: str
    or_setup: str
    sum_type: str
    length_type: str
    places: str
    longest: str
    first_preset: str
    start: tuple[str, ...]
    check: str
    tested: str
    has_engines: bool
    engines: tuple[EngineView, ...]
    has_knobs: bool
    knobs: tuple[KnobView, ...]
    ends: tuple[EndsView, ...]
    has_controls: bool
    control_count: str
    controls: tuple[ControlView, ...]
    has_modes: bool
    mode_count: str
    modes: tuple[ModeView, ...]
    has_sets: bool
    has_gestures: bool
    gesture_count: str
    jumpers: tuple[JumperView, ...]
    has_shows: bool
    show_count: str
    play: Play


def header_view(layout: Layout, rows: Rows, panel: Panel, source: SourceView) -> HeaderView:
    """The view of a layout's header, beside that of its source, without the number of its build."""
    product = layout.product
    members = [row for row in rows.rows if row.structure == "look"]
    ends = _ends(layout)
    presets = layout.record(Kind.PRESETS)
    assert presets is not None
    return HeaderView(
        file=source.file,
        source=f"{product.name}.c",
        build="",
        title=tuple(
            line for text in (product.label, product.about or "") for line in comment_lines(text)
        ),
        texts=tuple(_texts(layout)),
        brown_out="" if product.chip.brown_out is None else f" at {decimal_text(product.chip.brown_out)} V",
        code=hexadecimal(product.code, 16),
        revision=unsigned(product.revision),
        unreleased=unsigned(layout.trial),
        fingerprint=hexadecimal(layout.fingerprint, 32),
        memory=unsigned(product.chip.size),
        label=c_string(product.label),
        slots=unsigned(product.holds.preset_slots),
        serial=source.serial,
        serial_length=unsigned(product.holds.serial_characters),
        names=source.names,
        name_length=unsigned(product.holds.preset_names),
        hardware=tuple(_hardware(product.boards)),
        index_type=source.index_type,
        nothing=source.nothing,
        look=tuple(_members(layout, members)),
        items=tuple(_item(layout, item, rows) for item in product.items),
        look_rows=source.look_rows,
        setup=source.setup,
        bench=source.bench,
        has_ends=bool(ends) or source.play.has_pedals or _keeps_ends(layout),
        trims=tuple(_members(layout, [row for row in rows.rows if row.structure == "trims"])),
        seen=source.seen,
        kind_count=source.kind_count,
        longest_record=unsigned(max(record.length for record in layout.records)),
        record=source.record,
        spares=unsigned(len(presets.places) - presets.numbers),
        name_parameter=source.name_parameter,
        name_reads=" (but for a name that is kept)" if source.names else "",
        or_setup=f", {product.prefix}_save_setup" if source.setup else "",
        bench_file=f"{product.name}_bench.c",
        bench_record=unsigned(
            max(record.length for record in layout.records if record.kind not in LOOK)
        ),
        and_trims=" and trims" if source.bench else "",
        no_such_serial=", or this is no serial" if source.serial else "",
        reset_all="trims, measured ends and identity" if source.bench else "identity",
        name_range=", or a name too long" if source.names else "",
        sum_type=source.sum_type,
        length_type=source.length_type,
        places=str(sum(len(record.places) for record in layout.records)),
        longest=str(max(record.length for record in layout.records)),
        first_preset=str(product.first_preset),
        start=block(comment_lines(source.start_text)),
        check=hexadecimal(product.chip.checksum.check, product.chip.checksum.width).removesuffix("u"),
        tested=str(source.tested),
        has_engines=source.has_engines,
        engines=source.engines,
        has_knobs=source.has_knobs,
        knobs=source.knobs,
        ends=ends,
        has_controls=bool(panel.controls),
        control_count=unsigned(len(panel.controls)),
        controls=panel.controls,
        has_modes=bool(panel.modes),
        mode_count=unsigned(len(panel.modes)),
        modes=panel.modes,
        has_sets=source.has_sets,
        has_gestures=source.has_gestures,
        gesture_count=unsigned(len(panel.gestures)),
        jumpers=panel.jumpers,
        has_shows=source.has_shows,
        show_count=unsigned(len(panel.shows)),
        play=source.play,
    )


def _texts(layout: Layout) -> Iterator[TextView]:
    """The safety texts for the header, and what the product itself says beside its presets."""
    items = {item.name for item in layout.product.items}
    for text in layout.texts:
        if "header" in text.where and text.about not in items:
            yield TextView(comment_lines(f"{text.signal.name}. {text.text}", "  "))
    for preset in layout.product.presets:
        for note in preset.notes:
            yield TextView(comment_lines(f"{note.signal.name} (preset {preset.number}). {note.text}", "  "))


def _hardware(names: Mapping[int, str]) -> tuple[str, ...]:
    if not names:
        return ()
    boards = ", ".join(f"{place} {c_string(name)}" for place, name in names.items())
    return block(comment_lines(f"Board revisions in identity: {boards}."))


def _members(layout: Layout, rows: Iterable[Row]) -> Iterator[MemberView]:
    """The members of a structure, the wide ones first so that no compiler leaves gaps."""
    names = {item.name: item for item in layout.product.items}
    for wide in (True, False):
        for row in rows:
            if row.wide is wide and not row.member.endswith(".high"):
                yield _member(row, names.get(row.name), layout.product.prefix)


def _member(row: Row, item: Item | None, prefix: str) -> MemberView:
    if row.member.endswith(".low"):
        return MemberView(f"{prefix}_ends", row.member.removesuffix(".low"), "")
    comment = {
        "last_preset": "slot of the preset called last",
        "engaged": "1 engaged, 0 bypassed",
    }.get(row.name, "" if item is None else f"0 to {row.last}: {_range_text(item)}")
    if item is None and row.member.endswith("_measured"):
        comment = "1 measured on this unit, 0 nominal"
    return MemberView(
        "uint16_t" if row.wide else "uint8_t", row.member, f" /* {c_comment(comment)} */" if comment else ""
    )


def _range_text(item: Item) -> str:
    return f"{value_text(item, 0)} to {value_text(item, item.codes - 1)}"


def _item(layout: Layout, item: Item, rows: Rows) -> ItemView:
    notes = [f"{note.signal.name}. {note.text}" for note in item.notes]
    texts = [
        f"{text.signal.name}. {text.text}"
        for text in layout.texts
        if text.about == item.name and "header" in text.where
    ]
    lines = [line for text in (item_text(item), *texts, *notes) for line in comment_lines(text, "  ")]
    upper = item.name.upper()
    prefix = layout.product.prefix.upper()
    ways = zip(item.places, item.ways, strict=True) if isinstance(item, Selector) else ()
    return ItemView(
        upper=upper,
        comment=block(lines),
        label=c_string(item.label),
        index=unsigned(rows.number(item.name)),
        codes=unsigned(item.codes),
        standard=unsigned(item.default),
        ways=tuple(
            WayView(f"{prefix}_{upper}_{way.name.upper()}", unsigned(code), c_comment(way.label))
            for code, way in ways
        ),
    )


def _keeps_ends(layout: Layout) -> bool:
    """Whether a record has ends of a control, be it one that sets nothing."""
    return any(field.kind is FieldKind.END_LOW for record in layout.records for field in record.fields)


def _ends(layout: Layout) -> tuple[EndsView, ...]:
    """The file's ends of each knob that sets anything or is measured."""
    used = {name for table in layout.knobs for name in table.controls}
    bench = layout.record(Kind.BENCH)
    return tuple(
        EndsView(control.name, unsigned(control.ends[0]), unsigned(control.ends[1]))
        for control in layout.product.panel
        if isinstance(control, Knob) and (control.name in used or (bench is not None and control.measured))
    )
