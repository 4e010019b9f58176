"""A layout and its source -> the release file."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.image.factory import factory_image
from paramc.layout.json_form import document
from paramc.layout.layout import Layout
from paramc.release.release import Release, contents_value, digest, release_value, unix_lines
from paramc.text.source import Source


def freeze(layout: Layout, sources: Sequence[Source]) -> Release:
    """The release of a layout that is no trial's. sources: the product file first, by the names that they
    have beside one another."""
    assert not layout.trial
    kept = tuple(Source(one.name, unix_lines(one.text)) for one in sources)
    unsigned = Release(layout, factory_image(layout), kept, "")
    return Release(layout, unsigned.image, kept, digest(contents_value(unsigned)))


def release_file(release: Release) -> bytes:
    """The bytes of releases/NAME.rN.json."""
    return document(release_value(release))
