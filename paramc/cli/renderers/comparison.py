"""What a change does, for people: all of it, or as text for release notes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.image.convert import Fate
from paramc.release.compare import Comparison, Named, PresetChange, PresetValue, Side
from paramc.release.passages import Passage

_FOR_DEVELOPERS = frozenset({"controls", "modes", "set by", "engine", "texts", "acts as", "probe"})
"""What release notes leave out."""


def as_text(found: Comparison) -> list[str]:
    """Lines for a terminal, everything in them fit for one."""
    lines = [f"{plain(found.new.label)}: {_side(found.old)} against {_side(found.new)}.", *moved(found)]
    if found.units is None:
        return [*lines, "", "No unit goes from one to the other."]
    was, now = found.old.revision, found.new.revision
    ways = (
        (was, now, found.units.there, found.units.left_there),
        (now, was, found.units.back, found.units.left_back),
    )
    for one, other, passed, left in ways:
        lines += ["", f"Units of revision {one}, moved to revision {other}:", *_passages(passed)]
        if left:
            boards = ", ".join(_quoted(name) for name in left)
            stay = f"units on it stay at revision {one}"
            lines.append(f"  Revision {other} does not fit board {boards}: {stay}.")
    low, high = sorted((was, now))
    return [
        *lines,
        "",
        f"Firmware of revision {low} on a unit that revision {high} has saved in: it plays factory values,",
        "answers newer, and leaves what is stored alone.",
    ]


def moved(found: Comparison) -> list[str]:
    """What is new, gone or changed, in presets and in bytes; each part behind an empty line."""
    return [*_items(found), *_changes(found), *_presets(found.presets), *_costs(found)]


def as_notes(found: Comparison) -> list[str]:
    """Text for release notes: whole sentences, names of knobs and presets, no names of files."""
    lines = [f"{plain(found.new.label)}, revision {found.new.revision}", ""]
    if found.added:
        lines.append(f"New: {_labels(found.added)}.")
    if found.gone:
        lines.append(f"Gone: {_labels(found.gone)}.")
    lines += [f"Renamed: {one.was} is {one.now} now." for one in found.renamed]
    for change in found.changes:
        if change.what in _FOR_DEVELOPERS:
            continue
        what = plain(change.what)
        about = f"{plain(change.label)}, {what}" if change.item else what.capitalize()
        lines.append(f"{about}: {_said(change.now)}, formerly {_said(change.was)}.")
    different = [one for one in found.presets if one.sounds]
    lines += [f"{_preset(one)} sounds different: {_values(one, True)}." for one in different]
    renamed = [one for one in found.presets if one.label_was is not None]
    lines += [f"Preset {one.number} is called {_quoted(one.label)} now." for one in renamed]
    moved = [str(one.number) for one in found.presets if one.values and not one.sounds]
    if moved:
        lines.append(f"The same sound with knobs elsewhere: preset {', '.join(moved)}.")
    if not found.presets:
        lines.append("All factory presets sound as before.")
    if found.units is not None:
        lines += ["", *_units(found.units.there, found.old, found.new)]
        if found.units.left_there:
            boards = ", ".join(_quoted(name) for name in found.units.left_there)
            lines.append(f"Not for units on board {boards}, which stay at revision {found.old.revision}.")
        back = [one for one in found.units.back if one.fate is Fate.LOST and not one.bench]
        if back:
            names = ", ".join(plain(one.label) for one in back)
            lines.append(f"Going back to revision {found.old.revision} loses values of {names}.")
    return lines


# ---- all of it


def _side(side: Side) -> str:
    trial = ", a trial," if side.trial else ""
    return f"revision {side.revision}{trial} with fingerprint {side.fingerprint}"


def _items(found: Comparison) -> Iterator[str]:
    for what, named in (("New", found.added), ("Not there any more", found.gone)):
        if named:
            yield ""
            yield f"{what}:"
            yield from _rows([(one.item, one.kind, _quoted(one.label)) for one in named])
    if found.renamed:
        yield ""
        yield "Renamed:"
        yield from _rows([(one.was, "is now", one.now) for one in found.renamed])


def _changes(found: Comparison) -> Iterator[str]:
    if found.changes:
        yield ""
        yield "Changed:"
        yield from table(
            ("item", "what", "was", "now"),
            [(one.item or "product", one.what, _said(one.was), _said(one.now)) for one in found.changes],
            "llll",
        )
    elif not (found.added or found.gone or found.renamed):
        yield ""
        yield "No item says anything otherwise."


def _presets(presets: Sequence[PresetChange]) -> Iterator[str]:
    groups = (
        ("Presets that sound different:", [one for one in presets if one.sounds]),
        ("Presets with the same sound and knobs elsewhere:", [
            one for one in presets if one.values and not one.sounds
        ]),
    )  # fmt: skip
    for heading, listed in groups:
        if listed:
            yield ""
            yield heading
            yield from (f"  {_preset(one)}: {_values(one, False)}" for one in listed)
    renamed = [one for one in presets if one.label_was is not None]
    if renamed:
        yield ""
        yield "Presets with another name:"
        names = ((one.number, _quoted(one.label_was or ""), _quoted(one.label)) for one in renamed)
        yield from (f"  {number}: {was} is {now}" for number, was, now in names)
    if not presets:
        yield ""
        yield "Every factory preset has the same sound and the same knobs."


def _costs(found: Comparison) -> Iterator[str]:
    changed = [(one.of, str(one.was), str(one.now)) for one in found.costs if one.was != one.now]
    yield ""
    if changed:
        yield "Bytes:"
        yield from table(("of", "was", "now"), changed, "lrr")
    else:
        yield "Bytes: as before, in memory and in flash."


def _passages(passed: Sequence[Passage]) -> Iterator[str]:
    rows = [(one.item, _passage(one)) for one in passed]
    yield from _rows(rows)
    yield f"  {'Everything else is the same.' if rows else 'Every value is the same.'}"


def _passage(one: Passage) -> str:
    match one.fate:
        case Fate.NEW:
            return f"is {one.now} there" + (", not measured" if one.bench else "")
        case Fate.SAME if one.now is not None:
            return f"comes from {one.source}"
        case Fate.SAME:
            return f"goes into {one.source}"
        case Fate.LOST if one.looked_at == 0:
            return "is dropped" + (f"; it sounds as {one.source} there" if one.source else "")
        case Fate.LOST:
            return f"{_share(one.lost, one)} cannot be held: {one.was} becomes {one.now}"
        case _:
            return f"{_share(one.nearest, one)} become the nearest: {one.was} becomes {one.now}"


def _share(count: int, one: Passage) -> str:
    return f"{count} of {one.looked_at} values"


# ---- words


def _units(passed: Sequence[Passage], old: Side, new: Side) -> Iterator[str]:
    """What players of the old revision should know, and the one line on trims that always stands there."""
    saved = f"Sounds saved by revision {old.revision}"
    of_look = [one for one in passed if not one.bench]
    for one in of_look:
        match one.fate:
            case Fate.NEAREST:
                between = f"values of {plain(one.label)} between its steps become the nearest"
                yield f"{saved}: {between}; {one.was} is {one.now}."
            case Fate.LOST if one.looked_at:
                outside = f"values of {plain(one.label)} outside its range are lost"
                yield f"{saved}: {outside}; {one.was} is {one.now}."
            case Fate.LOST:
                yield f"{saved} lose {plain(one.label)}."
            case Fate.NEW:
                formerly = ", as they sounded" if one.source else ""
                units = f"Units of revision {old.revision}"
                yield f"{units} have {plain(one.label)} at {one.now}{formerly}."
            case Fate.SAME:
                pass
    if all(one.fate in (Fate.SAME, Fate.NEW) for one in of_look):
        yield f"{saved} stay as they are."
    bench = [one for one in passed if one.bench and one.now is not None]
    trims = [plain(one.label) for one in bench if one.fate in (Fate.NEW, Fate.LOST)]
    if trims:
        yield f"Trims: {', '.join(trims)} must be measured at the bench; all others are kept."
    else:
        yield "Trims: kept as they are."


def _preset(one: PresetChange) -> str:
    return f"Preset {one.number} {_quoted(one.label)}"


def _values(one: PresetChange, sounds: bool) -> str:
    return ", ".join(_value(value) for value in one.values if value.sounds or not sounds)


def _value(value: PresetValue) -> str:
    knob = ""
    if value.clock_was is not None and value.clock_now is not None and value.clock_was != value.clock_now:
        knob = f", knob from {value.clock_was} to {value.clock_now}"
    if not value.sounds:
        return f"{value.item} {value.now}{knob}"
    return f"{value.item} from {value.was} to {value.now}{knob}"


def _labels(named: Iterable[Named]) -> str:
    return ", ".join(plain(one.label) for one in named)


def _said(text: str | None) -> str:
    return "not said" if text is None else plain(text)


def _quoted(label: str) -> str:
    return f'"{plain(label)}"'


def _rows(rows: Sequence[Sequence[str]]) -> list[str]:
    return table(rows[0], rows[1:], "l" * len(rows[0])) if rows else []
