"""`paramc build`: everything that comes out of a product file, written whole or not at all."""

from __future__ import annotations

import os
import time
from collections.abc import Iterable, Sequence
from pathlib import Path

from paramc.cli import say
from paramc.cli.files import Output, Trouble, write_all
from paramc.cli.renderers import data, report, text
from paramc.cli.understanding import read_product
from paramc.driver import Understood, outputs
from paramc.emit.depfile import depfile
from paramc.emit.older_view import older_cost
from paramc.emit.packing import packing_cost
from paramc.image.older import old_records
from paramc.release.compare import compare
from paramc.tables.choose import Known
from paramc.text.diagnostic import has_stop

_LOOK_AGAIN_SECONDS = 0.2


def run(
    file: str,
    folder: str,
    *,
    force: bool,
    as_json: bool,
    known: Known | None = None,
    files: set[str] | None = None,
) -> int:
    """Exit status: 0 built, 1 a stop or a file at fault, and then the folder is as it was.

    known: tables of an earlier run, which are not fitted again. files: takes the paths of what was read
    beside the product file.
    """
    try:
        read = read_product(file)
        if files is not None:
            files.update(read.files)
        answer = read.understood(known=known)
        said = answer.diagnostics
        meant = None if answer.value is None or has_stop(said) else answer.value
        built = None if meant is None else _built(meant, [file, *read.files], folder, force=force)
        otherwise = () if meant is None else read.otherwise(meant.layout)
    except Trouble as trouble:
        if as_json:
            say.data({**data.as_data([file], ()), "troubles": [str(trouble)], "otherwise": []})
        say.person(str(trouble))
        return 1
    if as_json:
        value = {**data.as_data([file], said), "troubles": [], "otherwise": list(otherwise)}
        if built is not None:
            value["report"] = report.as_data(built)
        say.data(value)
    else:
        say.person(*text.render(said).splitlines())
        if built is None:
            say.person("", text.closing(said, 1), "Nothing was written.")
        else:
            say.out(*report.as_text(built, folder))
            if otherwise:
                say.person("", *otherwise)
            if said:
                say.person("", text.closing(said, 1))
    return 1 if built is None else 0


def watch_and_run(file: str, folder: str, *, force: bool, as_json: bool) -> int:
    """Builds at once and again whenever the time or size of the file, or of one that it borrows, changes; an
    interrupt ends it well."""
    seen: dict[str, tuple[int, int] | None] = {}
    beside: set[str] = set()
    known: Known = {}
    try:
        while True:
            now = _stamps(file, beside)
            if now != seen:
                # What it borrows may be others this time. Where it cannot be read, those of before are
                # watched still, because one of them may be why.
                run(file, folder, force=force, as_json=as_json, known=known, files=beside)
                # Those that were not watched yet are taken as they are: they have just been read.
                seen = {**_stamps(file, beside), **now}
                say.person("", f"Watching {say.plain(file)}. Interrupt to end.")
            time.sleep(_LOOK_AGAIN_SECONDS)
    except KeyboardInterrupt:
        return 0


def _stamps(file: str, beside: Iterable[str]) -> dict[str, tuple[int, int] | None]:
    return {path: _stamp(path) for path in (file, *sorted(beside))}


def _stamp(file: str) -> tuple[int, int] | None:
    try:
        found = os.stat(file)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


def _built(meant: Understood, read: Sequence[str], folder: str, *, force: bool) -> report.Built:
    """Writes everything, and what there is to report of it."""
    made = _write(meant, read, folder, force=force)
    layout, before = meant.layout, meant.before
    last = max(before, key=lambda one: one.product.revision, default=None)
    since = None if last is None or not layout.trial else compare(last, layout)
    assert not isinstance(since, str)  # releases beside a product are its own
    older = older_cost(layout, old_records(layout, before))
    return report.Built(layout, made, packing_cost(layout), older, since)


def _write(built: Understood, read: Sequence[str], folder: str, *, force: bool) -> tuple[Output, ...]:
    """Writes all of it and answers with what it wrote, the depfile last. read: every file that was read."""
    name = built.product.name
    made = [Output(artifact.name, artifact.data) for artifact in outputs(built.layout, built.before)]
    # Make and ninja look for the names that they were given, so these are the user's own.
    targets = [(Path(folder) / output.name).as_posix() for output in made]
    rule = depfile(targets, [Path(file).as_posix() for file in read])
    if rule is not None:
        made.append(Output(f"{name}.d", rule))
    write_all(folder, made, f".{name}.written", force=force)
    return tuple(made)
