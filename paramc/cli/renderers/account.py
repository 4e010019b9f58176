"""What a memory says, for people."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.image.account import Account, Bench, FromRevision, Place, Preset, Value
from paramc.image.convert import Fate
from paramc.image.memory import Answer, UnitAnswer
from paramc.image.records import State
from paramc.layout.layout import Kind

_UNIT = {
    UnitAnswer.FOREIGN: "an identity in it is of another product",
    UnitAnswer.TRIAL: "a trial that is not at hand has saved in it",
    UnitAnswer.NEWER: "a later revision has saved in it",
    UnitAnswer.DAMAGED: "something in it has no sound copy",
    UnitAnswer.OLDER: "an earlier revision has saved in it",
    UnitAnswer.BLANK: "every place is erased",
    UnitAnswer.SOUND: "everything in it has a sound copy",
}
_NUMBER = {
    Answer.SOUND: "sound",
    Answer.OLDER: "saved by an earlier revision, whose release is not at hand",
    Answer.NEWER: "saved by a later revision, whose release is not at hand",
    Answer.MISSING: "no sound copy; the unit plays what the factory made",
}
_LOST = "no sound copy"
_KINDS = {Kind.BENCH: "trims", Kind.STATE: "what plays now"}
_FATES = {
    Fate.SAME: "the same",
    Fate.NEAREST: "the nearest",
    Fate.LOST: "lost",
    Fate.NEW: "not in that revision",
}


def as_text(said: Account) -> list[str]:
    """Lines for a terminal, everything in them fit for one."""
    lines = [
        f"{plain(said.label)} ({said.product}), product code {said.code}, revision {said.revision},"
        f" fingerprint {said.fingerprint}.",
        f"The unit answers {said.answer.value}: {_UNIT[said.answer]}.",
        *_missing(said),
        "",
        *_identity(said),
        *([] if said.bench is None else ["", *_bench(said.bench)]),
    ]
    for preset in said.presets:
        lines += ["", *_preset(preset)]
    if said.setup is not None:
        answer = _answer(said.setup.answer, bool(said.setup.values))
        lines += ["", f"Setup: {answer}.", *_values(said.setup.values)]
    lines += ["", *_state(said), "", *_places(said.places)]
    if said.carried:
        lines += ["", *carried_text(said.carried, said.revision)]
    return lines


def _missing(said: Account) -> Iterator[str]:
    for revision in said.missing:
        file = f"{said.product}.r{revision}.json"
        yield f"Revision {revision} has saved in it, and its release, {file}, is not at hand."


def carried_text(carried: Sequence[FromRevision], revision: int) -> Iterator[str]:
    """What other revisions saved, and each value of it that is not the same in a revision."""
    yield f"Saved by other revisions, and read as revision {revision} has it:"
    same: dict[int, list[str]] = {}
    for one in carried:
        what = f"preset {one.preset}" if one.preset is not None else _KINDS.get(one.kind, one.kind.value)
        rows = [
            (value.item, value.was or "-", value.now or "-", _FATES[value.fate])
            for value in one.values
            if value.fate is not Fate.SAME
        ]
        if rows:
            yield f"  {what}, by revision {one.revision}"
            yield from (f"  {line}" for line in _rows(rows))
        else:
            same.setdefault(one.revision, []).append(what)
    for by, records in same.items():
        yield f"  with every value the same, by revision {by}: {', '.join(records)}"


def _answer(answer: Answer, has_values: bool) -> str:
    if has_values and answer in (Answer.OLDER, Answer.NEWER):
        return "saved by another revision, see below"
    return _NUMBER[answer]


def _identity(said: Account) -> Iterator[str]:
    identity = said.identity
    if identity.product_code is None:
        yield f"Identity: {_LOST}; serial and hardware are not known."
        return
    yield f"Identity: {_NUMBER[identity.answer]}."
    yield f"  serial    {plain(identity.serial or '') or 'none'}"
    yield f"  hardware  {plain(identity.hardware or 'not said')}"
    kind = "a trial" if identity.trial else "a release"
    yield f"  made by   {kind} with fingerprint {identity.fingerprint}"


def _bench(bench: Bench) -> Iterator[str]:
    if not bench.trims and not bench.ends:
        lost = f"{_LOST}; they have to be measured again, or taken from the record of what was shipped"
        yield f"Trims: {lost if bench.answer is Answer.MISSING else _NUMBER[bench.answer]}."
        return
    yield f"Trims: {_answer(bench.answer, True)}."
    rows = []
    for trim in bench.trims:
        remarks = ["measured" if trim.measured else "nominal, not measured"]
        if not trim.in_use:
            remarks.append(f"the stored code {trim.code} means nothing")
        if not trim.plausible:
            remarks.append("not plausible")
        rows.append((trim.item, _quoted(trim.label), trim.value, "; ".join(remarks)))
    for ends in bench.ends:
        measured = "measured" if ends.measured else "nominal, not measured"
        rows.append((ends.control, _quoted(ends.label), f"{ends.low} to {ends.high} counts", measured))
    yield from _rows(rows)


def _preset(preset: Preset) -> Iterator[str]:
    names = [_quoted(preset.name)] if preset.name else []
    if preset.factory_label is not None and preset.factory_label != preset.name:
        names.append(f"{_quoted(preset.factory_label)} in the factory")
    label = f" {', '.join(names)}" if names else ""
    same = preset.answer is Answer.SOUND and not any(value.differs for value in preset.values)
    answer = _answer(preset.answer, bool(preset.values)) + (", as the factory made it" if same else "")
    yield f"Preset {preset.number}{label}: {answer}."
    yield from _values(preset.values)


def _state(said: Account) -> Iterator[str]:
    state = said.state
    yield f"What plays now: {_answer(state.answer, bool(state.values))}."
    if state.engaged is not None:
        last = "a number that is no slot" if state.last_preset is None else f"preset {state.last_preset}"
        yield f"  {last} was called last; the unit is {'engaged' if state.engaged else 'bypassed'}"
        yield from _values(state.values)


def _values(values: Sequence[Value]) -> Iterator[str]:
    rows = []
    for value in values:
        remarks = [f"factory: {value.factory}"] if value.differs else []
        if not value.in_use:
            remarks.append(f"the stored code {value.code} means nothing, so this is the default")
        shown = value.value if value.meaning is None else f"{value.value} {_quoted(value.meaning)}"
        rows.append((value.item, _quoted(value.label), shown, "; ".join(remarks)))
    yield from _rows(rows)


def _rows(rows: Sequence[tuple[str, str, str, str]]) -> list[str]:
    """A table without a head."""
    return table(rows[0], rows[1:], "llll") if rows else []


def _places(places: Sequence[Place]) -> Iterator[str]:
    counts = Counter(place.state for place in places)
    yield f"Places: {', '.join(f'{counts[state]} {state.value}' for state in State if counts[state])}."
    if counts[State.UNSEALED]:
        yield "  (unsealed: a copy that a later save retired, or a save that was cut off)"
    for place in places:
        if place.state in (State.DAMAGED, State.UNREAD, State.TRIAL, State.FOREIGN):
            whose = "" if place.of is None else f", {plain(place.of)}"
            yield f"  {place.kind.value} at 0x{place.address:04X}: {place.state.value}{whose}"


def _quoted(label: str) -> str:
    return f'"{plain(label)}"'
