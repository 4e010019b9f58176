"""A command run inside the test, with what it says."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from paramc.cli.main import paramc
from paramc.layout.json_form import to_json
from tests.unit.image.layouts import every_layout


@cache
def _files() -> dict[str, bytes]:
    return {layout.product.name: to_json(layout) for layout in every_layout()}


@dataclass(frozen=True, slots=True)
class Done:
    """Exit status, standard output, standard error."""

    status: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """Standard output as JSON."""
        return json.loads(self.out)


class Command:
    """Runs commands in a folder of one's own, which has the layout files of all products in `layouts`."""

    def __init__(self, folder: Path, captured: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self._captured = captured
        self.layouts = folder / "layouts"
        self.layouts.mkdir()
        for name, data in _files().items():
            self.layout(name).write_bytes(data)

    def layout(self, name: str) -> Path:
        return self.layouts / f"{name}.layout.json"

    def file(self, name: str, data: bytes | str) -> Path:
        path = self.folder / name
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        return path

    def run(self, *words: object) -> Done:
        self._captured.readouterr()
        with pytest.raises(SystemExit) as ended:
            paramc.main(args=[str(word) for word in words], prog_name="paramc")
        said = self._captured.readouterr()
        return Done(int(ended.value.code or 0), said.out, said.err)
