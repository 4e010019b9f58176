"""`paramc restore`: a good image for a unit, from a dump of it, the record of what was shipped, or both."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from paramc.cli import say
from paramc.cli.files import Trouble, read_bytes, write_one
from paramc.cli.images import FORMS, image_file, recognised, stretches
from paramc.cli.layouts import Found, layouts_at, not_released
from paramc.cli.renderers.reply import reply_text
from paramc.cli.renderers.restored import FORMAT, Done, report_data, report_text
from paramc.cli.say import plain
from paramc.cli.shipped import Shipped, shipped_memory, shipped_unit
from paramc.frozen import dataclass
from paramc.image import convert, documents
from paramc.image.account import Account, account, account_of
from paramc.image.batch import is_serial
from paramc.image.documents import Document, Problem, read_document
from paramc.image.factory import blank_memory
from paramc.image.memory import Contents, read_memory
from paramc.image.recognise import Recognised
from paramc.image.restore import Fate, Origin, Restored, Wish, restore_contents
from paramc.image.revisions import Carry, Revisions, read_revisions
from paramc.layout.layout import Kind, Layout


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command was asked for. dump: None without one; slots: from 1, () for all; look: the dump of
    another unit; revision: to move the unit to, None for the one that it has."""

    dump: str | None
    releases: str
    output: str
    form: str
    revision: int | None
    presets: str | None
    factory: bool
    look: str | None
    slots: tuple[int, ...]
    serial: str | None
    log: str | None
    force: bool


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit as it was found: its memory, read in the terms of the image's layout. found: None without a
    dump; shipped: as it left the house, where the log was asked and has it."""

    layout: Layout
    memory: bytes
    contents: Contents
    found: Recognised | None
    shipped: Revisions | None


class _Refused(Exception):
    """Nothing is made; problems without a path are not of the document."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(problems)
        self.problems = problems


def run(asked: Asked, show: str) -> int:
    """show: "text", "json" or "reply". Exit status: 0 written, 1 nothing written because a file, the dump or
    the document is at fault."""
    _check(asked)
    try:
        done = _restored(asked)
        write_one(done.path, done.data, force=asked.force)
    except Trouble as trouble:
        return _refuse([Problem("", str(trouble))], asked.presets, show)
    except _Refused as refused:
        return _refuse(refused.problems, asked.presets, show)
    match show:
        case "json":
            say.data(report_data(done))
        case "reply":
            say.person(*report_text(done))
            say.out(*reply_text(done))
        case _:
            say.out(*report_text(done))
    return 0


def _check(asked: Asked) -> None:
    """Uses of the command that ask for nothing that could be."""
    if asked.dump is None and (asked.serial is None or asked.log is None):
        raise click.UsageError("name a dump, or say which unit it is: --serial S and --log LOG")
    if sum((asked.presets is not None, asked.factory, asked.look is not None)) > 1:
        raise click.UsageError("choose one of --presets, --factory and --look")
    if any(_same_file(dump, asked.output) for dump in (asked.dump, asked.look)):
        raise click.UsageError("the image cannot take the place of the dump; name another file")
    ending = Path(asked.output).suffix.removeprefix(".").lower()
    if not asked.output or (ending and ending not in FORMS and not os.path.isdir(asked.output)):
        raise click.UsageError(
            f"name a folder, or a file that ends in {', '.join(f'.{end}' for end in FORMS)}"
        )


def _same_file(dump: str | None, path: str) -> bool:
    return dump is not None and os.path.exists(dump) and os.path.exists(path) and os.path.samefile(dump, path)


def _restored(asked: Asked) -> Done:
    at_hand, notes = layouts_at(asked.releases)
    unit, more = _unit(asked, at_hand)
    layout = unit.layout
    document = None if asked.presets is None else _document(layout, asked.presets)
    wish = _wish(asked, layout, at_hand, document)
    shipped = None if unit.shipped is None else unit.shipped.contents
    answer = restore_contents(unit.contents, unit.memory, wish, shipped, asked.serial)
    if not isinstance(answer, Restored):
        raise _Refused([Problem("", sentence) for sentence in answer])
    from_log = answer.bench is Origin.LOG
    carried = unit.shipped.carried if unit.shipped is not None and from_log else ()
    if unit.found is not None and not from_log:
        carried = unit.found.chosen.carried
    _refuse_lost_trims(carried, layout)
    after = account(read_memory(layout, answer.image))
    before = None if unit.found is None else account_of(unit.found)
    path, ending = _path(asked, layout, after)
    if any(_same_file(dump, path) for dump in (asked.dump, asked.look)):
        raise Trouble(f"{plain(path)} is the dump itself, and the image cannot take its place.")
    told = (*notes, *more, *_notes(before, after, answer, document))
    data = image_file(layout, answer.image, FORMS[ending])
    return Done(layout, before, after, answer, document, told, path, data)


# ---- the unit


def _unit(asked: Asked, at_hand: Sequence[Found]) -> tuple[_Unit, list[str]]:
    """The unit by its dump, by the log, or by both; and what there is to say about the reading."""
    if asked.dump is None:
        assert asked.serial is not None and asked.log is not None
        record = shipped_unit(asked.log, asked.serial)
        release = _release_of(record, at_hand)
        layout = _of_revision(release.layout, at_hand, asked.revision)
        memory = bytes(blank_memory(layout))
        empty = read_memory(layout, memory)
        return _Unit(layout, memory, empty, None, _as_shipped(record, release, layout, at_hand)), []
    found, notes = recognised(asked.dump, at_hand, asked.revision)
    chosen = found.chosen
    layout = chosen.candidate.layout
    if not chosen.candidate.released:
        raise Trouble(not_released(Found(chosen.candidate.name, layout, False)))
    shipped = None
    identity = chosen.contents.identity
    serial = asked.serial or (identity.serial if identity is not None else None)
    if asked.log is not None:
        if serial is None:
            raise Trouble(
                "The dump does not say which unit it is of, so the log cannot be asked: say --serial S, which"
                " stands on the unit."
            )
        record = shipped_unit(asked.log, serial)
        shipped = _as_shipped(record, _release_of(record, at_hand), layout, at_hand)
        notes += _unlike_the_log(chosen.contents, shipped.contents)
    return _Unit(layout, chosen.candidate.memory.data, chosen.contents, found, shipped), notes


def _release_of(record: Shipped, at_hand: Sequence[Found]) -> Found:
    """The release that a unit was stamped from."""
    for it in at_hand:
        if it.released and it.digest == record.run.release:
            return it
    raise Trouble(
        f"The unit with serial {plain(record.serial or '')} was stamped from revision {record.run.revision}"
        f" of {plain(record.run.product)}, release {record.run.release[:8]}, and no release at hand is that"
        " one."
    )


def _of_revision(layout: Layout, at_hand: Sequence[Found], revision: int | None) -> Layout:
    if revision is None:
        return layout
    for it in at_hand:
        product = it.layout.product
        if it.released and product.code == layout.product.code and product.revision == revision:
            return it.layout
    raise Trouble(f"No release of {plain(layout.product.label)}, revision {revision}, is at hand.")


def _as_shipped(record: Shipped, release: Found, layout: Layout, at_hand: Sequence[Found]) -> Revisions:
    """The unit's memory as it left the house, in the terms of a layout."""
    if release.layout.product.code != layout.product.code:
        raise Trouble(
            f"The unit with serial {plain(record.serial or '')} left the house as"
            f" {plain(release.layout.product.label)}, and the dump is of {plain(layout.product.label)}."
        )
    memory = shipped_memory(release.layout, record)
    both = [layout] if release.layout.revision_byte == layout.revision_byte else [layout, release.layout]
    return read_revisions(layout, both, memory)


def _unlike_the_log(contents: Contents, shipped: Contents) -> Iterator[str]:
    """Where the dump and the log disagree on what was measured: the dump is the unit, and it counts."""
    for kind in (Kind.IDENTITY, Kind.BENCH):
        held, given = contents.held(kind), shipped.held(kind)
        if held is None or given is None or held.numbers[0].values is None:
            continue
        said = account(contents), account(shipped)
        if kind is Kind.IDENTITY:
            if said[0].identity.hardware != said[1].identity.hardware:
                yield (
                    f"The log has hardware {said[1].identity.hardware}, and the dump"
                    f" {said[0].identity.hardware}; the dump counts."
                )
        else:
            trims = [
                {trim.item: trim.value for trim in one.bench.trims} if one.bench else {} for one in said
            ]
            unlike = [name for name in trims[0] if trims[0][name] != trims[1].get(name)]
            if unlike:
                yield f"The log has other trims for {', '.join(unlike)}; what is in the dump counts."


# ---- the wish


def _wish(asked: Asked, layout: Layout, at_hand: Sequence[Found], document: Document | None) -> Wish:
    slots = frozenset(slot - 1 for slot in asked.slots) or None
    most = layout.product.holds.preset_slots
    if slots is not None and max(slots) >= most:
        raise Trouble(f"Slot {max(slots) + 1} is none of the slots of this product, which are 1 to {most}.")
    if document is not None and slots is not None:
        absent = slots - {new.slot for new in document.presets}
        if absent:
            raise Trouble(f"The document does not speak of slot {min(absent) + 1}.")
    look = None
    if asked.look is not None:
        other, _ = recognised(asked.look, at_hand, layout.product.revision)
        look = other.chosen.contents
        if look.layout.product.code != layout.product.code or look.at_odds:
            raise Trouble(
                f"{plain(asked.look)} is of {plain(look.layout.product.label)}, and the unit is"
                f" {plain(layout.product.label)}."
            )
    only = slots is not None and document is None and look is None
    return Wish(document, asked.factory or only, look, slots)


def _document(layout: Layout, path: str) -> Document:
    from paramc.emit.presets_schema import presets_schema

    answer = read_document(layout, json.loads(presets_schema(layout)), read_bytes(path, documents.LARGEST))
    if not isinstance(answer, Document):
        raise _Refused(answer)
    return answer


def _refuse_lost_trims(carried: Sequence[Carry], layout: Layout) -> None:
    """What was measured on a unit is carried over or the bench does it again; it is never made up."""
    lost = [
        f"Trim {value.item}, {value.was}, cannot be held by revision {layout.product.revision}."
        for one in carried
        if one.kind is Kind.BENCH
        for value in one.values
        if value.fate is convert.Fate.LOST and value.now is not None
    ]
    if lost:
        raise Trouble(" ".join([*lost, "The bench has to measure it again."]))


# ---- what is said


def _path(asked: Asked, layout: Layout, after: Account) -> tuple[str, str]:
    """Where the image goes, and the ending of its form. In a folder it is named after product, revision and
    serial."""
    ending = Path(asked.output).suffix.removeprefix(".").lower()
    if ending in FORMS and not os.path.isdir(asked.output):
        return asked.output, ending
    serial = after.identity.serial or ""
    if serial and not is_serial(layout.product, serial):
        raise Trouble(
            f"The serial {plain(serial)} cannot stand in the name of a file; name the image by -o NAME.hex."
        )
    name = f"{after.product}.r{after.revision}.{serial or 'no-serial'}.{asked.form}"
    return str(Path(asked.output) / name), asked.form


def _refuse(problems: Sequence[Problem], presets: str | None, show: str) -> int:
    if show == "json":
        listed = [{"path": problem.path or None, "sentence": problem.sentence} for problem in problems]
        say.data({"format": FORMAT, "problems": listed})
    for problem in problems:
        where = f"{plain(presets or '')}, {plain(problem.path)}: " if problem.path else ""
        say.person(f"{where}{plain(problem.sentence)}")
    say.person("Nothing was written.")
    return 1


def _notes(
    before: Account | None, after: Account, answer: Restored, document: Document | None
) -> Iterator[str]:
    """What there is to say beside the fates, each a whole sentence fit for a terminal."""
    for kind in answer.unlike:
        yield f"The copies of {kind.value} in the dump were not alike; the newest was taken."
    if answer.bench is Origin.LOG and after.bench is not None and after.bench.ends:
        yield "The record of what was shipped has no measured ends: they are as the unit was shipped."
    if after.bench is not None:
        for trim in after.bench.trims:
            if not (trim.plausible and trim.in_use):
                yield f"Trim {trim.item}, {trim.value}, is not plausible; it is carried over as it was."
    for note in document.notes if document is not None else ():
        yield f"{note.path}: {plain(note.sentence)}"
    if before is not None and answer.state is Fate.KEPT and before.state.last_preset is not None:
        if answer.presets[before.state.last_preset - 1] is not Fate.KEPT:
            new = f"the new preset {before.state.last_preset}"
            yield f"What plays now is kept, so {new} is heard once it is called."
    if answer.carried:
        yield f"{stretches(answer.carried)} outside all records are as in the dump."
