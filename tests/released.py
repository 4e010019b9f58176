"""Releases made of texts, for tests of what comes after them."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.layout.layout import Layout
from paramc.text.diagnostic import has_stop
from paramc.text.source import Source
from tests.understood import understand


def released(texts: Sequence[str]) -> tuple[Layout, ...]:
    """The layout of each text as a release, each following those before it."""
    layouts: tuple[Layout, ...] = ()
    for text in texts:
        answer = understand(Source("before.paramc", text), layouts, trial=False)
        assert answer.value is not None and not has_stop(answer.diagnostics), [
            found.sentence for found in answer.diagnostics
        ]
        layouts += (answer.value.layout,)
    return layouts
