"""A file that comes out: its name and its bytes."""

from __future__ import annotations

from paramc.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Artifact:
    """name: without a folder. data: the whole file."""

    name: str
    data: bytes
