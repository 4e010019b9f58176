"""Same input, same bytes: in any folder, for any user, in any locale, time zone or hash seed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

TOP = Path(__file__).resolve().parents[2]
EXAMPLES = TOP / "examples"
PRODUCTS = sorted(path.stem for path in EXAMPLES.glob("*.paramc"))

SURROUNDINGS = (
    {"HOME": "/nonexistent", "USER": "ann", "LC_ALL": "C", "TZ": "UTC", "PYTHONHASHSEED": "0"},
    {"HOME": "/", "USER": "bo", "LC_ALL": "C.UTF-8", "TZ": "Asia/Kathmandu", "PYTHONHASHSEED": "1"},
    {"HOME": "/tmp", "USER": "\u00e9", "LC_ALL": "de_DE.UTF-8", "TZ": "Pacific/Apia", "PYTHONHASHSEED": "42"},
)


def built(product: str, folder: Path, surroundings: dict[str, str]) -> dict[str, bytes]:
    folder.mkdir(parents=True)
    (folder / f"{product}.paramc").write_bytes((EXAMPLES / f"{product}.paramc").read_bytes())
    shutil.copytree(EXAMPLES / "house", folder / "house")
    environment = {"PATH": os.environ["PATH"], "PYTHONPATH": str(TOP), **surroundings}
    subprocess.run(
        [sys.executable, "-m", "paramc", "build", f"{product}.paramc", "-o", "out"],
        cwd=folder,
        env=environment,
        check=True,
        capture_output=True,
    )
    return {path.name: path.read_bytes() for path in (folder / "out").iterdir()}


@pytest.mark.parametrize("product", PRODUCTS)
def test_two_builds_are_the_same(product: str, tmp_path: Path) -> None:
    folders = (tmp_path / "a", tmp_path / "b c" / "d\u00e9", tmp_path / ("long" * 20))
    first, *others = (
        built(product, folder, surroundings)
        for folder, surroundings in zip(folders, SURROUNDINGS, strict=True)
    )
    assert len(first) > 8
    for other in others:
        assert other == first


@pytest.mark.parametrize("product", PRODUCTS)
def test_no_output_knows_where_it_was_made(product: str, tmp_path: Path) -> None:
    made = built(product, tmp_path / "somewhere", SURROUNDINGS[1])
    for name, blob in made.items():
        assert str(tmp_path).encode() not in blob, name
        assert b"Kathmandu" not in blob
