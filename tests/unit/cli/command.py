"""A command run inside the test, with what it says."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from paramc.cli.main import paramc
from paramc.cli.renderers.schemas import schema_files
from paramc.layout.json_form import to_json
from paramc.release.freeze import release_file
from tests.unit.image.layouts import NAMES, every_layout, released


@cache
def _files() -> dict[str, bytes]:
    layouts = {f"layouts/{one.product.name}.layout.json": to_json(one) for one in every_layout()}
    names = (*NAMES, "gravel_weir")
    return layouts | {
        f"releases/{name}.r{released(name).revision}.json": release_file(released(name)) for name in names
    }


@cache
def _schemas() -> dict[str, Draft202012Validator]:
    """By the command whose data they are of."""
    return {
        name.removesuffix(".schema.json"): Draft202012Validator(json.loads(data))
        for name, data in schema_files().items()
    }


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
    """Runs commands in a folder of one's own, which has the layout files of all products, as trials, in
    `layouts`, and a release of each in `releases`. Data that has a published schema is held to it."""

    def __init__(self, folder: Path, captured: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self._captured = captured
        self.layouts = folder / "layouts"
        self.releases = folder / "releases"
        self.layouts.mkdir()
        self.releases.mkdir()
        for name, data in _files().items():
            (folder / name).write_bytes(data)

    def layout(self, name: str) -> Path:
        return self.layouts / f"{name}.layout.json"

    def release(self, name: str) -> Path:
        return self.releases / f"{name}.r{released(name).revision}.json"

    def file(self, name: str, data: bytes | str) -> Path:
        path = self.folder / name
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        return path

    def run(self, *words: object) -> Done:
        self._captured.readouterr()
        with pytest.raises(SystemExit) as ended:
            paramc.main(args=[str(word) for word in words], prog_name="paramc")
        said = self._captured.readouterr()
        if "--json" in words and ended.value.code in (0, 1) and words[0] in _schemas():
            _schemas()[str(words[0])].validate(json.loads(said.out))
        return Done(int(ended.value.code or 0), said.out, said.err)
