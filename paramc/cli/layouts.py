"""Layout files read, one or a folder of them."""

from __future__ import annotations

from pathlib import Path

from paramc.cli.files import Trouble, read_bytes
from paramc.cli.say import plain
from paramc.layout.json_form import LARGEST_FILE, from_json
from paramc.layout.layout import Layout

ENDING = ".layout.json"
MOST_FILES = 1000


def read_layout(path: str) -> Layout:
    """The layout of a file. Raises Trouble with a sentence."""
    answer = from_json(read_bytes(path, LARGEST_FILE))
    if isinstance(answer, str):
        raise Trouble(f"{plain(path)} is not a sound layout file. {plain(answer)}")
    return answer


def layouts_at(path: str) -> tuple[list[tuple[str, Layout]], list[str]]:
    """The layouts of a file, or of every file in a folder whose name ends in .layout.json, with the
    names of their files; and a sentence for each that cannot be read. Raises Trouble where there is none."""
    if not Path(path).is_dir():
        return [(path, read_layout(path))], []
    files = sorted(Path(path).glob(f"*{ENDING}"))
    if not files:
        raise Trouble(f"{plain(path)} has no file whose name ends in {ENDING}; build writes one.")
    if len(files) > MOST_FILES:
        raise Trouble(f"{plain(path)} has {len(files)} layout files, and {MOST_FILES} are the most.")
    found: list[tuple[str, Layout]] = []
    troubles: list[str] = []
    for file in files:
        try:
            found.append((file.as_posix(), read_layout(str(file))))
        except Trouble as trouble:
            troubles.append(str(trouble))
    return found, troubles


def trial_text(layout: Layout) -> str:
    """What has to be said of every image and dump of a layout that no release froze; "" of others."""
    if not layout.trial:
        return ""
    number = f"{layout.fingerprint:08X}"
    return f"This is a trial, fingerprint {number}: no release froze it, so it is not to ship."


def cautions(layout: Layout, page: str) -> list[str]:
    """The texts that are to be read on a page, fit for a terminal."""
    return [plain(text.line) for text in layout.texts if page in text.where]


def cautions_data(layout: Layout, page: str) -> list[dict[str, str]]:
    """The same as JSON would have it."""
    return [
        {"key": text.key, "signal": text.signal.value, "text": text.text}
        for text in layout.texts
        if page in text.where
    ]
