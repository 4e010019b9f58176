"""Units that earlier firmware has played, and cuts during the first saves of the firmware that follows it.

Each earlier revision's own C plays memories (`c/aged.c`), new ones and those that the revision before it has
left, cut off now and then. The newest revision's C then begins with these (`c/cuts.c`). What it hears in each
is held against the second reader, which has its values from the conversion of the host; everything after that
against what was heard.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tests.faults.campaign import Lost, build, played, run, subject
from tests.stories import REVISIONS, story
from tests.target.emitted import Emitted, emit
from tests.target.older import reader_of

MEMORIES = 40
"""That each earlier revision leaves."""

UPDATED = {name: last for name, last in REVISIONS.items() if last > 1}
UPDATES = [(name, revision) for name, last in UPDATED.items() for revision in range(1, last)]
"""Every product, and every revision before its last."""


@dataclass(frozen=True)
class Update:
    """The newest firmware of a product, and by earlier revision the file of memories that it has left."""

    emitted: Emitted
    left: dict[int, Path]
    counts: dict[int, dict[str, int]]


def release(name: str, revision: int, folder: Path) -> Emitted:
    """A revision's C as it is released, and its facts for the programs."""
    layouts = tuple(one.layout for one in story(name)[:revision])
    return subject(emit(layouts[-1], folder, layouts[:-1]))


def update(name: str, folder: Path) -> Update:
    """Plays the units of every earlier revision of a product and makes the newest firmware."""
    left: dict[int, Path] = {}
    counts = {}
    for revision in range(1, UPDATED[name]):
        program = build(release(name, revision, folder / f"r{revision}"), "aged")
        begin = [[], *([[left[revision - 1]]] if left else [])]
        parts = [folder / f"r{revision}.{at}" for at in range(len(begin))]
        found = [
            run(program, revision, MEMORIES // len(parts), part, *of)
            for part, of in zip(parts, begin, strict=True)
        ]
        counts[revision] = {word: sum(count[word] for count in found) for word in found[0]}
        left[revision] = folder / f"r{revision}.memories"
        left[revision].write_bytes(b"".join(part.read_bytes() for part in parts))
    return Update(release(name, UPDATED[name], folder / "newest"), left, counts)


def cut(made: Update, program: Path, revision: int, cuts: int, way: str) -> dict[str, int]:
    """Cuts after the update from a revision, and what they counted; revisions: those whose records were heard
    before the first save. Raises Lost where something is lost, or is not what the host makes of it."""
    sample = made.left[revision].with_suffix(f".{way}")
    counts = run(program, revision, 0, cuts, way, sample, made.left[revision])
    revisions = set()
    lines = sample.read_text(encoding="utf-8").splitlines()
    for line in lines:
        memory, *heard = line.split(" ")
        reader = reader_of(made.emitted, bytes.fromhex(memory))
        revisions |= {reader.number(*one).revision for one in reader.numbers() if one[0] != "identity"}
        if heard != played(reader):
            raise Lost(f"LOST: firmware plays another value than the host converts\n{memory}")
    assert revision in revisions
    return {**counts, "compared": len(lines)}
