"""The driver's `understand` for tests: what one test has had fitted is not fitted again for another."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.driver import Understood, module_of, understood
from paramc.layout.layout import Layout
from paramc.syntax.borrow import Reader, assembled, nothing_beside
from paramc.tables.choose import Known
from paramc.text.diagnostic import Checked
from paramc.text.source import Source

_KNOWN: Known = {}


def understand(
    source: Source, released: Sequence[Layout] = (), *, trial: bool = True, read: Reader = nothing_beside
) -> Checked[Understood]:
    return understood(module_of(assembled(source, read)), released, trial=trial, known=_KNOWN)
