"""Release files: those beside a product file, and one by its name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from paramc.cli.files import Trouble, read_bytes
from paramc.cli.say import plain

if TYPE_CHECKING:
    from paramc.layout.layout import Layout
    from paramc.release.release import Release

FOLDER: Final = "releases"
ENDING: Final = re.compile(r"(?P<name>.+)\.r(?P<number>[1-9][0-9]{0,2})\.json")
"""The name of a release file: NAME.rN.json."""


def release_path(file: str, name: str, revision: int) -> Path:
    """Where a revision of a product stands, beside its product file."""
    return Path(file).parent / FOLDER / f"{name}.r{revision}.json"


def read_release_file(path: str) -> Release:
    """The release of a file. Raises Trouble with a sentence."""
    # Here, because most products that are checked have no release yet.
    from paramc.layout.json_form import LARGEST_FILE
    from paramc.release.read import read_release

    answer = read_release(read_bytes(path, LARGEST_FILE))
    if isinstance(answer, str):
        raise Trouble(f"{plain(path)} is not a sound release. {plain(answer)}")
    return answer


def releases_beside(file: str, name: str) -> tuple[tuple[Release, ...], tuple[str, ...]]:
    """Every release of a product beside its product file, the oldest first, and their paths.

    Raises Trouble where one cannot be read: without it the others do not tell what units have stored.
    """
    folder = Path(file).parent / FOLDER
    if not folder.is_dir():
        return (), ()
    found = []
    for path in folder.iterdir():
        match = ENDING.fullmatch(path.name)
        if match is not None and match["name"] == name:
            found.append((int(match["number"]), path))
    releases = []
    for number, path in sorted(found):
        release = read_release_file(str(path))
        product = release.layout.product
        if (product.name, product.revision) != (name, number):
            raise Trouble(
                f"{plain(str(path))} is revision {product.revision} of {product.name}, which its name does"
                " not say."
            )
        releases.append(release)
    return tuple(releases), tuple(path.as_posix() for _, path in sorted(found))


def layouts_of(releases: Sequence[Release]) -> tuple[Layout, ...]:
    """Their layouts alone."""
    return tuple(release.layout for release in releases)
