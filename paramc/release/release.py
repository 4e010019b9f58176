"""What a release holds, and the digests by which it and its source are known."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Final

from paramc.frozen import dataclass
from paramc.layout.codec import Json
from paramc.layout.json_form import layout_value
from paramc.layout.layout import Layout
from paramc.text.source import Source

FORMAT: Final = 1
"""The number of the release file's form."""


@dataclass(frozen=True, slots=True)
class Release:
    """A frozen revision. layout: no trial's. image: of a new unit, the whole memory. sources: the product
    file, and behind it all that it borrows. digest: SHA-256 in hexadecimal, of all of it."""

    layout: Layout
    image: bytes
    sources: tuple[Source, ...]
    digest: str

    @property
    def revision(self) -> int:
        """Its number."""
        return self.layout.product.revision

    @property
    def source_digest(self) -> str:
        """Of its sources alone, as source_digest has it."""
        return source_digest(self.sources)


def source_digest(sources: Sequence[Source]) -> str:
    """SHA-256, in hexadecimal, by which a source is known for the one that was released.

    The product file may be called otherwise since, and its line ends may be another system's.
    """
    first, *borrowed = sources
    return digest([unix_lines(first.text), [[one.name, unix_lines(one.text)] for one in borrowed]])


def release_value(release: Release) -> Json:
    """The release file as a JSON value, its keys in their order."""
    value = contents_value(release)
    return {"format": value.pop("format"), "digest": release.digest, **value}


def contents_value(release: Release) -> dict[str, Json]:
    """The same without the digest, which is taken over it."""
    return {
        "format": FORMAT,
        "layout": layout_value(release.layout),
        "image": release.image.hex().upper(),
        "sources": [{"name": one.name, "text": one.text} for one in release.sources],
    }


def digest(value: Json) -> str:
    """SHA-256 over the canonical form of a JSON value: ASCII, keys sorted, no blanks; in hexadecimal."""
    text = json.dumps(value, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest().upper()


def unix_lines(text: str) -> str:
    """The text with line feeds alone for line ends: they carry no meaning in a product file."""
    return text.replace("\r\n", "\n")
