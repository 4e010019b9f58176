"""A product with every conversion and taper: written as a layout file and as a release, and read back."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest

from paramc.driver import understand
from paramc.layout.json_form import from_json, to_json
from paramc.layout.layout import Layout
from paramc.release.freeze import freeze, release_file
from paramc.release.read import read_release
from paramc.release.release import Release
from paramc.tables.forms import values_of
from paramc.text.source import Source
from tests.target.curved import CURVES
from tests.target.independent import table_entries, table_value


@cache
def layout() -> Layout:
    answer = understand(Source("curves.paramc", CURVES), trial=False)
    assert answer.value is not None, [found.sentence for found in answer.diagnostics]
    return answer.value.layout


def test_the_layout_comes_back_equal() -> None:
    assert from_json(to_json(layout())) == layout()


def test_so_does_a_release() -> None:
    release = freeze(layout(), [Source("curves.paramc", CURVES)])
    back = read_release(release_file(release))
    assert isinstance(back, Release), back
    assert (back.layout, back.image, back.digest) == (release.layout, release.image, release.digest)


def test_the_file_alone_gives_every_value() -> None:
    told = json.loads(to_json(layout()))
    tables = [*told["engines"], *told["knobs"]]
    assert len(tables) == len(layout().engines) + len(layout().knobs) == 10
    for one, other in zip(tables, [*layout().engines, *layout().knobs], strict=True):
        got = tuple(table_value(one["table"], k) for k in range(table_entries(one["table"])))
        assert got == values_of(other.table)


def items(told: dict[str, Any]) -> dict[str, Any]:
    return {item["name"]: item for item in told["product"]["items"]}


def conversion(told: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = items(told)[name]["engine"]["conversion"]
    return found


def negated(told: dict[str, Any]) -> dict[str, Any]:
    """The deepest expression, nested once more."""
    return {"kind": "negated", "of": conversion(told, "deep")["expression"]}


HOSTILE: list[tuple[Callable[[dict[str, Any]], None], str]] = [
    (lambda told: conversion(told, "pole").update(rate="0"), "conversion"),
    (lambda told: conversion(told, "tail").update(kind="pole"), "conversion"),
    (lambda told: items(told)["deep"].update(flat="0.13"), "flat"),
    (lambda told: items(told)["deep"].update(flat="-0.01"), "flat"),
    (lambda told: told["product"]["panel"][0].update(law={"kind": "geometric"}), "taper"),
    (lambda told: conversion(told, "on").update(expression={"kind": "name", "name": "it"}), "conversion"),
    (lambda told: conversion(told, "deep").update(expression=negated(told)), "conversion"),
]


@pytest.mark.parametrize(("change", "word"), HOSTILE)
def test_what_could_not_be_worked_out_is_refused(change: Callable[[dict[str, Any]], None], word: str) -> None:
    told = json.loads(to_json(layout()))
    change(told)
    found = from_json(json.dumps(told).encode())
    assert isinstance(found, str) and word in found, found
