"""`paramc restore`: a good image for a unit, from a dump of it."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import click

from paramc.cli import say
from paramc.cli.files import Trouble, read_bytes, write_one
from paramc.cli.images import FORMS, image_file, recognised, stretches
from paramc.cli.layouts import Found, cautions, cautions_data, not_released
from paramc.cli.renderers.account import carried_text
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.image import convert, documents
from paramc.image.account import Account, account, account_value
from paramc.image.codes import code_text
from paramc.image.documents import Document, Problem, read_document
from paramc.image.memory import Answer
from paramc.image.restore import Fate, Restored, restore_contents
from paramc.image.revisions import Carry
from paramc.layout.layout import Kind, Layout

FORMAT = 1
"""The number of the form of the data."""


class _Refused(Exception):
    """Nothing is made; problems without a path are not of the document."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(problems)
        self.problems = problems


def run(
    dump: str,
    releases: str,
    presets: str | None,
    output: str,
    revision: int | None,
    *,
    force: bool,
    as_json: bool,
) -> int:
    """Exit status: 0 written, 1 nothing written because a file, the dump or the document is at fault.

    revision: to move the unit to; None for the one that it has.
    """
    form = FORMS.get(Path(output).suffix.removeprefix(".").lower())
    if form is None:
        raise click.UsageError(f"the name of the image must end in {', '.join(f'.{end}' for end in FORMS)}")
    if os.path.exists(output) and os.path.exists(dump) and os.path.samefile(dump, output):
        raise click.UsageError("the image cannot take the place of the dump; name another file")
    try:
        chosen, notes = recognised(dump, releases, revision)
        layout, memory = chosen.candidate.layout, chosen.candidate.memory
        if not chosen.candidate.released:
            raise Trouble(not_released(Found(chosen.candidate.name, layout, False)))
        document = None if presets is None else _document(layout, presets)
        _refuse_lost_trims(chosen.carried, layout)
        answer = restore_contents(chosen.contents, memory.data, document)
        if not isinstance(answer, Restored):
            raise _Refused([Problem("", sentence) for sentence in answer])
        data = image_file(layout, answer.image, form)
        write_one(output, data, force=force)
    except Trouble as trouble:
        return _refuse([Problem("", str(trouble))], presets, as_json)
    except _Refused as refused:
        return _refuse(refused.problems, presets, as_json)
    said = account(answer.contents, chosen.carried)
    notes += _notes(said, answer, document)
    if as_json:
        say.data(_data(layout, said, answer, data, notes))
    else:
        say.out(*_text(layout, said, answer, document, output, notes))
    return 0


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


def _document(layout: Layout, path: str) -> Document:
    from paramc.emit.presets_schema import presets_schema

    answer = read_document(layout, json.loads(presets_schema(layout)), read_bytes(path, documents.LARGEST))
    if not isinstance(answer, Document):
        raise _Refused(answer)
    return answer


def _refuse(problems: Sequence[Problem], presets: str | None, as_json: bool) -> int:
    if as_json:
        listed = [{"path": problem.path or None, "sentence": problem.sentence} for problem in problems]
        say.data({"format": FORMAT, "problems": listed})
    for problem in problems:
        where = f"{plain(presets or '')}, {plain(problem.path)}: " if problem.path else ""
        say.person(f"{where}{plain(problem.sentence)}")
    say.person("Nothing was written.")
    return 1


def _notes(said: Account, answer: Restored, document: Document | None) -> Iterator[str]:
    """What there is to say beside the fates, each a whole sentence fit for a terminal."""
    for kind in answer.unlike:
        yield f"The copies of {kind.value} in the dump were not alike; the newest was taken."
    if said.bench is not None:
        nominal = [trim.item for trim in said.bench.trims if not trim.measured]
        if nominal:
            yield f"Not measured on this unit, and nominal as before: {', '.join(nominal)}."
        for trim in said.bench.trims:
            if not (trim.plausible and trim.in_use):
                yield f"Trim {trim.item}, {trim.value}, is not plausible; it is carried over as it was."
    for note in document.notes if document is not None else ():
        yield f"{note.path}: {plain(note.sentence)}"
    if answer.state is Fate.KEPT and said.state.last_preset is not None:
        if answer.presets[said.state.last_preset - 1] is Fate.REPLACED:
            new = f"the new preset {said.state.last_preset}"
            yield f"What plays now is kept, so {new} is heard once it is called."
    if answer.carried:
        yield f"{stretches(answer.carried)} outside all records are as in the dump."


def _data(
    layout: Layout, said: Account, answer: Restored, data: bytes, notes: Sequence[str]
) -> dict[str, Any]:
    bench = said.bench
    return {
        "format": FORMAT,
        "problems": [],
        "product": said.product,
        "revision": said.revision,
        "fingerprint": said.fingerprint,
        "serial": said.identity.serial,
        "hardware": said.identity.hardware,
        "carried_over": ["identity", *([] if bench is None else ["bench"])],
        "presets": [{"number": at, "fate": fate.value} for at, fate in enumerate(answer.presets, 1)],
        "setup": None if answer.setup is None else answer.setup.value,
        "state": answer.state.value,
        "carried": account_value(said)["carried"],
        "notes": list(notes),
        "bytes": len(data),
        "sha256": hashlib.sha256(data).hexdigest(),
        "texts": cautions_data(layout, "restore"),
    }


def _text(
    layout: Layout,
    said: Account,
    answer: Restored,
    document: Document | None,
    output: str,
    notes: Sequence[str],
) -> list[str]:
    serial, hardware = said.identity.serial or "none", said.identity.hardware or "not said"
    label = f"{plain(said.label)}, revision {said.revision}"
    whose = f"{label}, serial {plain(serial)}, hardware {plain(hardware)}."
    lines = [*cautions(layout, "restore"), "", whose]
    fates = list(_fates(answer))
    kept = [name for name, fate in fates if fate is Fate.KEPT]
    lost = [name for name, fate in fates if fate is Fate.FACTORY]
    lines += [
        "",
        f"Carried over from the dump: identity{'' if said.bench is None else ', trims and measured ends'}.",
        f"Kept from the dump: {', '.join(kept) or 'nothing'}.",
        f"As the factory makes it, for want of a sound copy: {', '.join(lost) or 'nothing'}.",
    ]
    if document is not None:
        lines += ["Replaced by the document:", *_replaced(layout, said, document)]
    if said.carried:
        lines += ["", *carried_text(said.carried, said.revision)]
    if notes:
        lines += ["", *notes]
    return [*lines, "", f"Written: {plain(output)}, {len(answer.image)} bytes of memory."]


def _fates(answer: Restored) -> Iterator[tuple[str, Fate]]:
    for number, fate in enumerate(answer.presets, 1):
        yield f"preset {number}", fate
    if answer.setup is not None:
        yield "setup", answer.setup
    yield "what plays now", answer.state


def _replaced(layout: Layout, said: Account, document: Document) -> Iterator[str]:
    """A table a slot, and one of the settings: what was, and what is now."""
    items = layout.product.per_preset
    for new in document.presets:
        was = {value.item: value.value for value in said.presets[new.slot].values}
        named = f' "{plain(new.name)}"' if new.name else ""
        yield f"  preset {new.slot + 1}{named}"
        yield from table(
            ("  item", "was", "now", ""),
            [
                (
                    f"  {item.name}",
                    was.get(item.name, "lost"),
                    code_text(item, code),
                    "" if item.name in new.said else "not in the document: the default",
                )
                for item, code in zip(items, new.codes, strict=True)
            ],
            "llll",
        )
    if document.setup:
        assert said.setup is not None
        was = {value.item: value.value for value in said.setup.values}
        rest = "" if said.setup.answer is Answer.SOUND else ", what it does not say as the factory makes it"
        yield f"  setup{rest}"
        rows = [
            (f"  {name}", was.get(name, "lost"), code_text(layout.product.item(name), code))
            for name, code in document.setup
        ]
        yield from table(("  item", "was", "now"), rows, "lll")
    if not document.presets and not document.setup:
        yield "  nothing"
