"""The revisions of the invented products, from their source files in examples."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from paramc.cli.borrowing import reader_beside
from paramc.cli.releases import FOLDER
from paramc.release.freeze import freeze
from paramc.release.release import Release
from paramc.text.source import Source
from tests.understood import understand

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
RELEASES = EXAMPLES / FOLDER
REVISIONS = {"teasel_pinch": 2, "long_causeway": 5, "hob_and_kiln": 2}
"""How many each product has, from 1."""

AT = {"teasel_pinch": 2, "long_causeway": 3, "hob_and_kiln": 1}
"""The revision that the file in examples itself writes."""

PAIRS = [
    (name, one, other)
    for name, last in REVISIONS.items()
    for one in range(1, last + 1)
    for other in range(1, last + 1)
    if one != other
]
"""Every product with every two of its revisions, both ways round."""


_BORROW = re.compile(r'^borrow "(.+)"$', re.MULTILINE)


def source_path(name: str, revision: int) -> Path:
    """The product file of a revision."""
    if revision == AT[name]:
        return EXAMPLES / f"{name}.paramc"
    return EXAMPLES / "revisions" / f"{name}.r{revision}.paramc"


def text_of(name: str, revision: int | None = None) -> str:
    """The text of a product in examples, what it borrows in the place of each borrow: it stands alone."""
    text = source_path(name, AT[name] if revision is None else revision).read_text(encoding="utf-8")
    return _BORROW.sub(lambda borrow: (EXAMPLES / borrow[1]).read_text(encoding="utf-8"), text)


def sources_of(name: str, revision: int) -> list[Source]:
    """A revision's product file and what it borrows, as a release keeps them."""
    path = source_path(name, revision)
    text = path.read_text(encoding="utf-8")
    borrowed = [(EXAMPLES / file).read_text(encoding="utf-8") for file in _BORROW.findall(text)]
    return [
        Source(f"{name}.paramc", text),
        *(Source(file, of) for file, of in zip(_BORROW.findall(text), borrowed, strict=True)),
    ]


@cache
def story(name: str) -> tuple[Release, ...]:
    """The releases of a product as its files give them today, the oldest first."""
    releases: tuple[Release, ...] = ()
    for revision in range(1, REVISIONS[name] + 1):
        sources = sources_of(name, revision)
        before, read = tuple(one.layout for one in releases), reader_beside(str(EXAMPLES / f"{name}.paramc"))
        answer = understand(sources[0], before, trial=False, read=read)
        assert answer.value is not None and answer.diagnostics == (), answer.diagnostics
        releases += (freeze(answer.value.layout, sources),)
    return releases
