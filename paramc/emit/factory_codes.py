"""The factory sounds and their names, as bytes of tables in C."""

from __future__ import annotations

from paramc.emit.constants import numbers
from paramc.emit.escape import c_comment
from paramc.emit.layout_rows import Rows
from paramc.frozen import dataclass
from paramc.layout.layout import Kind, Layout
from paramc.model.items import Selector
from paramc.model.product import Wakes


@dataclass(frozen=True, slots=True)
class SoundView:
    """A row of the table of sounds, in as many lines as it takes."""

    codes: tuple[str, ...]
    comment: str


@dataclass(frozen=True, slots=True)
class Factory:
    """codes: of all sounds, one after another, bytes_each for each; the last stands for all slots from it on.
    names: likewise, but only as many as have one. engaged: whether a new unit is."""

    codes: bytes
    bytes_each: int
    sounds: tuple[SoundView, ...]
    names: bytes
    name_rows: tuple[str, ...]
    engaged: bool


def factory_of(layout: Layout, rows: Rows) -> Factory:
    """The factory's part of a layout."""
    product = layout.product
    kind = rows.kind(Kind.PRESETS)
    assert kind is not None
    wide = {row.name: row.wide for row in rows.rows[kind.start : kind.end]}
    order = list(wide)
    items = [item.name for item in product.per_preset]
    defaults = tuple(item.default for item in product.per_preset)
    presets = {preset.number: preset for preset in product.presets}
    slots = product.holds.preset_slots
    last = max((number for number in presets if presets[number].codes != defaults), default=0)
    sounds = []
    codes = b""
    # One row more than the last sound that differs: the defaults, for all slots that follow.
    for number in range(1, min(last + 1, slots) + 1):
        preset = presets.get(number)
        of = dict(zip(items, defaults if preset is None else preset.codes, strict=True))
        row = b"".join(of[name].to_bytes(2 if wide[name] else 1, "big") for name in order)
        label = "" if preset is None else f' "{preset.label}"'
        sounds.append(SoundView(numbers(row, "u"), c_comment(f"Preset {number}{label}")))
        codes += row
    size = product.holds.preset_names
    named = max(presets, default=0) if size else 0
    labels = [presets[number].label if number in presets else "" for number in range(1, named + 1)]
    names = [label.encode("utf-8").ljust(size, b"\0") for label in labels]
    assert all(len(name) == size for name in names)
    return Factory(
        codes=codes,
        bytes_each=len(codes) // len(sounds),
        sounds=tuple(sounds),
        names=b"".join(names),
        name_rows=tuple(
            f"{' '.join(numbers(name, 'u'))} /* {c_comment(label)} */"
            for name, label in zip(names, labels, strict=True)
        ),
        engaged=_engaged(layout),
    )


def _engaged(layout: Layout) -> bool:
    product = layout.product
    if product.wakes_from is None:
        return product.wakes is Wakes.ENGAGED
    selector = product.item(product.wakes_from)
    assert isinstance(selector, Selector)
    return selector.way(selector.default).name == "engaged"
