"""Histories in layout files that do not hold together."""

from __future__ import annotations

import json
from typing import Any

import pytest

from paramc.layout.json_form import from_json, layout_value, to_json
from paramc.layout.layout import Layout
from tests.stories import story

THIRD = story("long_causeway")[2].layout
SHAPE = next(at for at, item in enumerate(THIRD.product.items) if item.name == "mod_shape")
TIME = next(at for at, item in enumerate(THIRD.product.items) if item.name == "time")


def refused(*changes: tuple[str, Any]) -> str:
    value = json.loads(json.dumps(layout_value(THIRD)))
    for way, to in changes:
        *steps, last = [int(step) if step.isdigit() else step for step in way.split(".")]
        inside = value
        for step in steps:
            inside = inside[step]
        inside[last] = to
    answer = from_json(json.dumps(value).encode())
    assert isinstance(answer, str) and answer.endswith(".")
    return answer


@pytest.mark.parametrize("release", [one for name in ("teasel_pinch", "long_causeway", "hob_and_kiln")
                                     for one in story(name)])  # fmt: skip
def test_every_revision_comes_back_equal(release: Any) -> None:
    layout: Layout = release.layout
    assert from_json(to_json(layout)) == layout


def since(**changed: Any) -> list[dict[str, Any]]:
    usual = {"revision": 2, "formerly": None, "by": None, "number": None, "became": []}
    return [{**usual, **changed}]


@pytest.mark.parametrize(("way", "to", "words"), [
    ("product.reads_from", 0, "reads from"),
    ("product.reads_from", 4, "reads from"),
    ("product.retired", [{"name": "Old", "since": 2}], "not a name"),
    ("product.retired", [{"name": "old", "since": 2}] * 2, "there twice"),
    ("product.retired", [{"name": "old", "since": 4}], "not come yet"),
    ("product.retired", [{"name": "time", "since": 2}], "belongs to two items"),
    (f"product.items.{TIME}.history.was", ["mix"], "belongs to two items"),
    (f"product.items.{TIME}.history.was", ["Mix"], "is not a name"),
    (f"product.items.{TIME}.history.since", since(revision=4), "not come yet"),
    (f"product.items.{TIME}.history.since", since() * 2, "twice in one revision"),
    (f"product.items.{TIME}.history.since", since(formerly=1181), "not one of its codes"),
    (f"product.items.{TIME}.history.since", since(formerly=-1), "not one of its codes"),
    (f"product.items.{TIME}.history.since", since(by="old", became=[{"way": "a", "code": 0}]), "cannot hang"),
    (f"product.items.{SHAPE}.history.since", since(by="old"), "in half of one"),
    (f"product.items.{SHAPE}.history.since", since(number=3), "a number that is none"),
    (f"product.items.{SHAPE}.history.since",
     since(by="old", became=[{"way": "a", "code": 0}, {"way": "a", "code": 1}]), "said twice of a way"),
    (f"product.items.{SHAPE}.history.since", since(by="old", became=[{"way": "a", "code": 9}]), "codes"),
    (f"product.items.{SHAPE}.ways.0.was", ["drift"], "an earlier name twice"),
    (f"product.items.{SHAPE}.ways.0.was", ["D"], "no name"),
    (f"product.items.{SHAPE}.places", [0, 2, 1], "do not ascend"),
    (f"product.items.{SHAPE}.places", [0, 0, 1], "do not ascend"),
    (f"product.items.{SHAPE}.places", [0, 1, 255], "outside 0 to 254"),
    (f"product.items.{SHAPE}.places", [1, 2, 3], "begins with"),
    (f"product.items.{SHAPE}.places", [0, 1, 3], "."),
    (f"product.items.{SHAPE}.places", [0, 1], "plainest form"),
    ("product.hardware_places", [0, 0], "twice"),
    ("product.hardware_places", [0, 255], "outside 0 to 254"),
    ("product.hardware_places", [0, 2], "fingerprint"),
])  # fmt: skip
def test_what_does_not_hold_together_gets_a_sentence(way: str, to: Any, words: str) -> None:
    assert words in refused((way, to))
