"""Layouts read, from release files and layout files, one or a folder of them."""

from __future__ import annotations

import contextlib
from pathlib import Path

from paramc.cli.files import Trouble, read_bytes
from paramc.cli.releases import ENDING as RELEASE_ENDING
from paramc.cli.releases import FOLDER as RELEASES
from paramc.cli.say import plain
from paramc.frozen import dataclass
from paramc.image.memory import build_of
from paramc.layout.json_form import LARGEST_FILE, from_value, read_json
from paramc.layout.layout import Layout
from paramc.release.read import is_release, read_release

ENDING = ".layout.json"
SOURCE_ENDING = ".paramc"
MOST_FILES = 1000


@dataclass(frozen=True, slots=True)
class Found:
    """A layout at hand. name: of its file; released: whether a release file vouches for it; digest: of that
    release, "" of a layout file."""

    name: str
    layout: Layout
    released: bool
    digest: str = ""


def read_layout(path: str) -> Found:
    """The layout of a release file or a layout file, told apart by content. Raises Trouble."""
    if Path(path).is_dir():
        raise Trouble(f"{plain(path)} is a folder, and one release is needed{_such_as(Path(path))}.")
    data = read_bytes(path, LARGEST_FILE)
    read = read_json(data)
    if isinstance(read, str):
        if path.endswith(SOURCE_ENDING):
            raise Trouble(
                f"{plain(path)} is a product file, and a release of it is needed: {_freeze(plain(path))}."
            )
        raise Trouble(
            f"{plain(path)} is neither a release nor a layout file, or it is damaged. {plain(read)} A release"
            " is a file such as releases/NAME.r1.json, as paramc release wrote it."
        )
    if is_release(read[0]):
        release = read_release(data)
        if isinstance(release, str):
            raise Trouble(f"{plain(path)} is not a sound release. {plain(release)}")
        return Found(Path(path).as_posix(), release.layout, True, release.digest)
    layout = from_value(read[0])
    if isinstance(layout, str):
        raise Trouble(f"{plain(path)} is not a sound layout file. {plain(layout)}")
    return Found(Path(path).as_posix(), layout, False)


def released(path: str) -> Found:
    """A release; nothing else will do where units leave the house. Raises Trouble."""
    found = read_layout(path)
    if not found.released:
        raise Trouble(not_released(found))
    return found


def not_released(found: Found) -> str:
    """Why a layout is not enough, as a sentence."""
    file, label = plain(found.name), plain(found.layout.product.label)
    if found.layout.trial:
        made = _freeze(f"{found.layout.product.name}{SOURCE_ENDING}")
        return f"{file} is of {label}, {build_of(found.layout)}; what ships needs a release: {made}."
    return (
        f"{file} is a layout file, and nobody vouches for it; the release of {label},"
        f" {build_of(found.layout)}, is needed."
    )


def _freeze(source: str) -> str:
    """How a release is made of a product file, as a clause."""
    return f"run paramc release {source} and give the file that it names, {RELEASES}/NAME.rN.json"


def _such_as(folder: Path) -> str:
    """The release in a folder that was asked for most likely, the last by its name."""
    with contextlib.suppress(OSError):
        names = sorted(file.name for file in folder.iterdir() if RELEASE_ENDING.fullmatch(file.name))
        if names:
            return f", such as {plain((folder / names[-1]).as_posix())}"
    return ""


def layouts_at(path: str) -> tuple[list[Found], list[str]]:
    """The layout of a file, or those of every file in a folder whose name ends as that of a release
    (.rN.json) or of a layout file (.layout.json), releases first; and a sentence for each that cannot be
    read. Raises Trouble where there is none."""
    if not Path(path).is_dir():
        return [read_layout(path)], []
    files = sorted(
        file
        for file in Path(path).iterdir()
        if file.name.endswith(ENDING) or RELEASE_ENDING.fullmatch(file.name)
    )
    if not files:
        below = Path(path) / RELEASES
        hint = f" There is {plain(below.as_posix())}: did you mean that?" if below.is_dir() else ""
        raise Trouble(
            f"{plain(path)} has no file whose name ends as that of a release (.r1.json) or of a layout file"
            f" ({ENDING}).{hint}"
        )
    if len(files) > MOST_FILES:
        raise Trouble(f"{plain(path)} has {len(files)} of these files, and {MOST_FILES} are the most.")
    found: list[Found] = []
    troubles: list[str] = []
    for file in files:
        try:
            found.append(read_layout(str(file)))
        except Trouble as trouble:
            troubles.append(str(trouble))
    return sorted(found, key=lambda one: not one.released), troubles


def trial_text(layout: Layout) -> str:
    """What has to be said of every image and dump of a layout that no release froze; "" of others."""
    if not layout.trial:
        return ""
    number = f"{layout.fingerprint:08X}"
    return f"This is a trial, fingerprint {number}: no release froze it, so it is not to ship."


def cautions(layout: Layout, *pages: str) -> list[str]:
    """The texts that are to be read on one of some pages, fit for a terminal."""
    lines = (plain(text.line) for text in layout.texts if set(pages) & set(text.where))
    return list(dict.fromkeys(lines))  # what stands beside several trims is read once


def cautions_data(layout: Layout, *pages: str) -> list[dict[str, str]]:
    """The same as JSON would have it."""
    return [
        {"key": text.key, "signal": text.signal.value, "text": text.text}
        for text in layout.texts
        if set(pages) & set(text.where)
    ]
