"""What a panel needs that nobody has to read a manual for: feet, knobs after a recall, taps, MIDI, pedals."""

from __future__ import annotations

from paramc.emit.constants import Constants, hexadecimal, unsigned
from paramc.emit.escape import c_comment
from paramc.emit.layout_rows import Rows
from paramc.emit.midi_view import FineView, MidiView, fine_of, midi_of, no_midi
from paramc.emit.panel_view import Panel
from paramc.emit.pedal_view import PedalView, pedalled_items, pedals_of
from paramc.emit.tap_view import TapView, tap_views
from paramc.frozen import dataclass
from paramc.layout.layout import Kind, Layout
from paramc.model.panel import Footswitch, Knob

DUMP_FORM = 1
"""The first byte of what is packed into a dump: how the rest lies."""


@dataclass(frozen=True, slots=True)
class RecallView:
    """What a knob does after a recall."""

    control: str
    how: str


@dataclass(frozen=True, slots=True)
class FootView:
    """A footswitch by its number among them."""

    control: str
    index: str
    comment: str


@dataclass(frozen=True, slots=True)
class DumpView:
    """A preset as an exclusive message. raw: bytes before they are packed into packed ones."""

    head: str
    head_bytes: str
    raw: str
    packed: str
    final: str
    name_in: str
    name_out: str
    name_text: str
    name_read: str


@dataclass(frozen=True, slots=True)
class Play:
    """All of it, for header and source."""

    constants: tuple[Constants, ...]
    has_recogniser: bool
    has_feet: bool
    feet: tuple[FootView, ...]
    foot_count: str
    foot_controls: str
    has_links: bool
    link_count: str
    has_recall: bool
    recalls: tuple[RecallView, ...]
    has_taps: bool
    taps: tuple[TapView, ...]
    tap_count: str
    has_midi: bool
    midi: MidiView
    dump: DumpView
    has_fines: bool
    sends_fine: bool
    fines: tuple[FineView, ...]
    has_pedals: bool
    pedals: tuple[PedalView, ...]


def play_of(layout: Layout, rows: Rows, panel: Panel) -> Play:
    """The views of a layout's product, beside that of its panel."""
    product = layout.product
    prefix = product.prefix
    feet = [(at, part) for at, part in enumerate(product.panel) if isinstance(part, Footswitch)]
    knobs = [part for part in product.panel if isinstance(part, Knob)]
    used = {sets.control for mode in product.modes for sets in mode.sets}
    taps = tap_views(product)
    midi, constants = (no_midi(), ()) if product.midi is None else midi_of(product, rows)
    pedals, of_pedals = pedals_of(product, rows)
    sent = {change.name for change in midi.sent if change.is_fine}
    fine_names = dict.fromkeys((*(change.name for change in midi.fine), *pedalled_items(product)))
    fines = [fine_of(product.item(name), prefix, name in sent) for name in fine_names]
    read = (
        *(one for tap in taps for one in tap.constants),
        *constants,
        *(one for _, more in fines for one in more),
        *of_pedals,
    )
    return Play(
        constants=tuple({one.name: one for one in read}.values()),
        has_recogniser=bool(panel.gestures) and bool(feet or panel.jumpers),
        has_feet=bool(feet),
        feet=tuple(
            FootView(part.name, unsigned(number), c_comment(part.label))
            for number, (_, part) in enumerate(feet)
        ),
        foot_count=unsigned(len(feet)),
        foot_controls=", ".join(unsigned(at) for at, _ in feet),
        has_links=bool(panel.jumpers),
        link_count=unsigned(len(panel.jumpers)),
        has_recall=any(knob.name in used for knob in knobs),
        recalls=tuple(
            RecallView(knob.name, f"{prefix.upper()}_{knob.after_recall.name}")
            for knob in knobs
            if knob.name in used
        ),
        has_taps=bool(taps),
        taps=taps,
        tap_count=unsigned(product.tap.taps) if product.tap is not None else "2u",
        has_midi=product.midi is not None,
        midi=midi,
        dump=_dump(layout, rows),
        has_fines=bool(fines),
        sends_fine=any(view.sent for view, _ in fines),
        fines=tuple(view for view, _ in fines),
        has_pedals=bool(pedals),
        pedals=pedals,
    )


def _dump(layout: Layout, rows: Rows) -> DumpView:
    product = layout.product
    algorithm = product.chip.checksum
    presets = rows.kind(Kind.PRESETS)
    assert presets is not None
    head = (
        DUMP_FORM,
        *product.code.to_bytes(2, "big"),
        product.revision,
        *layout.look_fingerprint.to_bytes(4, "big"),
    )
    codes = sum(1 + row.wide for row in rows.rows[presets.start : presets.end])
    names = product.holds.preset_names
    raw = len(head) + 1 + codes + names + algorithm.size
    return DumpView(
        head=", ".join(hexadecimal(byte, 8) for byte in head),
        head_bytes=unsigned(len(head)),
        raw=unsigned(raw),
        packed=unsigned(raw + -(-raw // 7)),
        final=hexadecimal(algorithm.xorout, algorithm.width),
        name_in=" const char *name," if names else "",
        name_out=", char *name" if names else "",
        name_text=f" name: as {product.prefix}_preset_name gives it." if names else "",
        name_read=f" and name ({product.prefix.upper()}_NAME + 1 bytes)" if names else "",
    )
