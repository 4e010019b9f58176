"""A release file read back, from bytes that nobody vouches for but its own digest."""

from __future__ import annotations

import re
from typing import Final

from paramc.image.factory import factory_image
from paramc.layout.codec import Json
from paramc.layout.json_form import from_value, read_json
from paramc.release.release import FORMAT, Release, digest
from paramc.text.source import Source

MOST_SOURCES: Final = 100
LARGEST_IMAGE: Final = 1 << 16
_NAME: Final = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]{0,99}(/[A-Za-z0-9_][A-Za-z0-9_.-]{0,99}){0,9}")
_KEYS: Final = ("format", "digest", "layout", "image", "sources")


def read_release(data: bytes) -> Release | str:
    """The release of a file, or a sentence on the first thing that is wrong with it. Never raises.

    Its digest has to be that of what stands in it, and its image that of its layout.
    """
    read = read_json(data)
    if isinstance(read, str):
        return read
    [value] = read
    if not is_release(value):
        return "The file is no release: it lacks the keys of one."
    if value["format"] != FORMAT or type(value["format"]) is not int:
        return f"The release file has another format than {FORMAT}, which this paramc reads."
    if odd := [key for key in value if key not in _KEYS]:
        what = "a key that is" if len(odd) == 1 else f"{len(odd)} keys that are"
        return f"The release file has {what} not known."
    rest = {key: part for key, part in value.items() if key != "digest"}
    if value["digest"] != digest(rest):
        return "The release file was changed: its digest is not that of what stands in it."
    layout = from_value(value["layout"])
    if isinstance(layout, str):
        return f"The layout of the release is not sound. {layout}"
    if layout.trial:
        return "The layout of the release is a trial's."
    image = _image(value["image"])
    if image is None or image != factory_image(layout):
        return "The image of the release is not the one of its layout."
    sources = _sources(value["sources"])
    if sources is None:
        return "The sources of the release are not named texts."
    return Release(layout, image, sources, value["digest"])


def is_release(value: Json) -> bool:
    """Whether a JSON value has the keys of a release file."""
    return isinstance(value, dict) and all(key in value for key in _KEYS)


def _image(value: Json) -> bytes | None:
    if not isinstance(value, str) or len(value) > 2 * LARGEST_IMAGE:
        return None
    if not re.fullmatch(r"([0-9A-F]{2})+", value):
        return None
    return bytes.fromhex(value)


def _sources(value: Json) -> tuple[Source, ...] | None:
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_SOURCES:
        return None
    sources = []
    for one in value:
        if not isinstance(one, dict) or sorted(one) != ["name", "text"]:
            return None
        name, text = one["name"], one["text"]
        if not isinstance(name, str) or not isinstance(text, str) or not _NAME.fullmatch(name):
            return None
        sources.append(Source(name, text))
    return tuple(sources)
