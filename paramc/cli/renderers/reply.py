"""The text to send with a restored image: what changes, what does not, how it is loaded, and the cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import PurePath

from paramc.cli.layouts import cautions
from paramc.cli.renderers.restored import NOMINAL, Done, fates, trims
from paramc.cli.say import plain
from paramc.image.account import Preset, Value
from paramc.image.convert import Fate as Change
from paramc.image.restore import Fate, Origin
from paramc.layout.layout import Kind
from paramc.model.feedback import feeds_itself_above
from paramc.model.items import Item, Param
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import compare

_WIDTH = 92
_BY_FATE = {
    Fate.REPLACED: "as you asked",
    Fate.MOVED: "from your other unit",
    Fate.RESET: "as the factory makes it, as you asked",
    Fate.FACTORY: "as the factory makes it, because what was there could not be read any more",
}


def reply_text(done: Done) -> list[str]:
    """Lines to paste into a letter, each fit for a terminal too."""
    after = done.after
    name = PurePath(done.path).name
    serial = after.identity.serial or ""
    lines = [
        f"Your {plain(after.label)}{f', serial {plain(serial)}' if serial else ''}",
        "",
        *_wrapped(
            f"The file {plain(name)} holds the whole memory of your unit, for firmware of revision"
            f" {after.revision}. It is made for this one unit and carries its serial and its trims: never"
            " load it into another."
        ),
        "",
        "What will change:",
        *_listed(_changes(done) or ["nothing"]),
        "",
        "What will not change:",
        *_listed(_same(done)),
        "",
        "How to load it:",
        *_listed(_steps(done, name)),
    ]
    loud = list(_loud(done))
    if loud:
        lines += ["", "Presets to begin with at low volume:", *_listed(loud)]
    texts = [text for page in ("restore", "reply") for text in cautions(done.layout, page)]
    lines += ["", "Please read before anybody loads it or plays:"]
    for text in dict.fromkeys(texts):
        lines += ["", *_wrapped(text)]
    return lines


def _changes(done: Done) -> list[str]:
    found = []
    for number, fate in enumerate(done.answer.presets, 1):
        if fate is not Fate.KEPT:
            preset = done.after.presets[number - 1]
            found.append(f"{_called(preset)}: {_BY_FATE[fate]}.{_values(preset, fate)}")
    others = (("The settings", done.answer.setup), ("What plays when it is switched on", done.answer.state))
    for what, one in others:
        if one is not None and one is not Fate.KEPT:
            found.append(f"{what}: {_BY_FATE[one]}.")
    if done.answer.identity is Origin.LOG or done.answer.bench is Origin.LOG:
        found.append(
            "What was measured on the unit, or its serial, could not be read any more: it is put back as it"
            " was when the unit left us."
        )
    return [*found, *_moved(done)]


def _values(preset: Preset, fate: Fate) -> str:
    """What a preset that was asked for sounds like now."""
    if fate is not Fate.REPLACED:
        return ""
    values = (f"{plain(value.label)} {plain(value.meaning or value.value)}" for value in preset.values)
    return f" {', '.join(values)}."


def _moved(done: Done) -> Iterator[str]:
    """Values that the revision of the image cannot have as they were, in what is kept."""
    kept = {name for name, fate in fates(done.answer) if fate is Fate.KEPT}
    for one in () if done.before is None else done.before.carried:
        what = f"preset {one.preset}" if one.preset is not None else _WORDS[one.kind]
        if what not in kept and one.kind is not Kind.BENCH:
            continue
        for value in one.values:
            label = _label(done, value.item)
            match value.fate:
                case Change.NEAREST | Change.LOST if value.now is not None:
                    yield f"{what.capitalize()}, {label}: {value.was} becomes {value.now}."
                case Change.LOST:
                    yield f"{what.capitalize()}, {label}: this revision does not have it; it was {value.was}."
                case Change.NEW:
                    yield f"{what.capitalize()}, {label}: new in this revision, at {value.now}."
                case _:
                    pass


_WORDS = {
    Kind.IDENTITY: "identity",
    Kind.BENCH: "trims",
    Kind.SETUP: "setup",
    Kind.STATE: "what plays now",
}


def _label(done: Done, name: str) -> str:
    layouts = (done.layout, *done.answer.contents.at_hand)
    labels = (item.label for layout in layouts for item in layout.product.items if item.name == name)
    return plain(next(labels, name))


def _same(done: Done) -> list[str]:
    kept = [number for number, fate in enumerate(done.answer.presets, 1) if fate is Fate.KEPT]
    found = [f"Preset{'' if len(kept) == 1 else 's'} {_numbers(kept)}."] if kept else []
    if done.answer.setup is Fate.KEPT:
        found.append("The settings that are kept once for all presets.")
    if done.answer.state is Fate.KEPT:
        found.append("What plays when it is switched on.")
    if done.answer.identity is Origin.DUMP and done.after.identity.serial:
        found.append("The serial.")
    if done.answer.bench is Origin.DUMP:
        found.append(_trims_said(done))
    return found or ["Nothing of what was in the unit could be kept."]


def _trims_said(done: Done) -> str:
    """What is measured on a unit is called so, and nothing else is."""
    measured = [trim.came != NOMINAL for trim in trims(done)]
    if all(measured):
        return "The trims, which were measured on your unit."
    if any(measured):
        return "The trims: those that were measured on your unit, and the rest, which never were."
    return "The trims, none of which was measured on your unit: they are at nominal."


def _numbers(numbers: Sequence[int]) -> str:
    """ "1, 2 and 4 to 8" """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words: list[str] = []
    for run in runs:
        words += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _steps(done: Done, name: str) -> list[str]:
    chip = done.layout.product.chip
    return [
        "Loading takes a programmer at the board. If you have none, send the unit to us.",
        "Read the whole memory first, and keep that file.",
        f"Write {plain(name)}: {chip.size} bytes from address 0x{chip.hex_at:04X}, all of them in one go.",
        "Let the programmer read them back and compare; then switch the unit off and on.",
        "Play each preset once, quietly. If anything is not as written here, read the memory again and send"
        " us that file.",
    ]


def _called(preset: Preset) -> str:
    # A slot that the player changed is no longer what the factory called it.
    changed = any(value.differs for value in preset.values)
    name = preset.name or ("" if changed else preset.factory_label)
    return f'Preset {preset.number}{f" {_quoted(name)}" if name else ""}'


def _quoted(name: str) -> str:
    return f'"{plain(name)}"'


def _loud(done: Done) -> Iterator[str]:
    """Presets in which a sound feeds itself."""
    items: dict[str, Item] = {item.name: item for item in done.layout.product.items}
    for preset in done.after.presets:
        for value in preset.values:
            limit = _over(items[value.item], value)
            if limit is not None:
                yield (
                    f"{_called(preset)} has {plain(value.label)} at {value.value}, and above {limit} it feeds"
                    " itself."
                )


def _over(item: Item, value: Value) -> Quantity | None:
    limit = feeds_itself_above(item) if isinstance(item, Param) else None
    if limit is None or value.value == "off" or not isinstance(item, Param):
        return None
    code = value.code if value.in_use else item.default
    return Quantity(limit, item.scale.unit) if compare(item.scale.value(code), limit) > 0 else None


def _listed(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        first, *rest = _wrapped(line, _WIDTH - 2)
        yield f"- {first}"
        yield from (f"  {more}" for more in rest)


def _wrapped(text: str, width: int = _WIDTH) -> list[str]:
    """A text in lines, parted at blanks alone, so that nothing in it is lost."""
    lines = [""]
    for word in text.split(" "):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > width:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}" if lines[-1] else word
    return lines

