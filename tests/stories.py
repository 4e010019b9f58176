"""The revisions of the invented products, from their source files in examples."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from paramc.cli.releases import FOLDER
from paramc.driver import understand
from paramc.release.freeze import freeze
from paramc.release.release import Release
from paramc.text.source import Source

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


def source_path(name: str, revision: int) -> Path:
    """The product file of a revision."""
    if revision == AT[name]:
        return EXAMPLES / f"{name}.paramc"
    return EXAMPLES / "revisions" / f"{name}.r{revision}.paramc"


@cache
def story(name: str) -> tuple[Release, ...]:
    """The releases of a product as its files give them today, the oldest first."""
    releases: tuple[Release, ...] = ()
    for revision in range(1, REVISIONS[name] + 1):
        text = source_path(name, revision).read_text(encoding="utf-8")
        source = Source(f"{name}.paramc", text)
        answer = understand(source, tuple(one.layout for one in releases), trial=False)
        assert answer.value is not None and answer.diagnostics == (), answer.diagnostics
        releases += (freeze(answer.value.layout, [source]),)
    return releases
