"""Products turned into C, in a folder, beside the same layout as its file says it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paramc.emit.c import emit_c
from paramc.image.older import old_records
from paramc.layout.json_form import to_json
from paramc.layout.layout import Layout
from paramc.syntax.borrow import Reader, nothing_beside
from paramc.text.source import Source
from tests.understood import understand


@dataclass(frozen=True)
class Emitted:
    """A product's layout, the same as its layout file says it, and the folder that its C is in.

    before: the releases whose records the C reads as well.
    """

    layout: Layout
    file: dict[str, Any]
    folder: Path
    before: tuple[Layout, ...] = ()

    @property
    def name(self) -> str:
        return self.layout.product.name

    @property
    def source(self) -> Path:
        return self.folder / f"{self.name}.c"

    @property
    def header(self) -> Path:
        return self.folder / f"{self.name}.h"

    def has(self, kind: str) -> bool:
        """Whether there are records of a kind."""
        return any(record["kind"] == kind for record in self.file["records"])

    def fields(self, kind: str) -> list[dict[str, Any]]:
        """The fields of a kind's records, as the layout file has them."""
        return next((record["fields"] for record in self.file["records"] if record["kind"] == kind), [])

    def write(self, name: str, program: str) -> Path:
        """A file of the folder with C in which @ stands for the prefix and @@ for the same in capitals."""
        prefix = self.layout.product.prefix
        path = self.folder / name
        path.write_text(program.replace("@@", prefix.upper()).replace("@", prefix), encoding="utf-8")
        return path


def layout_of(product: str, trial: bool = True, read: Reader = nothing_beside) -> Layout:
    """The layout of a product text that builds, as a trial or as a release of its revision. read: gives the
    files that it borrows."""
    understood = understand(Source("product.paramc", product), trial=trial, read=read)
    said = "\n".join(f"{found.rule.name}: {found.sentence}" for found in understood.diagnostics)
    assert understood.value is not None, said
    return understood.value.layout


def emit(layout: Layout, folder: Path, before: tuple[Layout, ...] = ()) -> Emitted:
    """The C of a layout, in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for artifact in emit_c(layout, old_records(layout, before)):
        (folder / artifact.name).write_bytes(artifact.data)
    return Emitted(layout, json.loads(to_json(layout)), folder, before)
