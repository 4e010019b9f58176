"""The published schemas: each a schema by the metaschema, versioned, in the package, and what real outputs
are held to."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import paramc
from paramc.cli.renderers.schemas import schema_files
from paramc.emit.presets_schema import presets_schema
from paramc.emit.presets_schema import schema_file as presets_schema_file
from paramc.image import account, log
from paramc.image.account import account_of, account_value, refusal_value
from paramc.image.documents import Document, read_document
from paramc.image.files import Chunk, Form
from paramc.image.reading import Loaded
from paramc.image.recognise import AtHand, Recognised, recognise
from paramc.image.stamp import Unit, stamp_image
from paramc.layout import schema as layout_schema
from paramc.layout.json_form import to_json
from paramc.release import schema as release_schema
from paramc.release.freeze import release_file
from tests.stories import PAIRS, REVISIONS, story
from tests.unit.pages import page, table

[TOP] = [Path(folder) for folder in paramc.__path__]
PUBLISHED = {
    "presets": "emit/presets.schema.json",
    "decode": "image/decode.schema.json",
    "layout": "layout/layout.schema.json",
    "release": "release/release.schema.json",
    "log": "image/log.schema.json",
    "restore": "cli/renderers/restore.schema.json",
    "stamp": "cli/renderers/stamp.schema.json",
    "verify": "cli/renderers/verify.schema.json",
}
EVERY = [(name, revision) for name, last in REVISIONS.items() for revision in range(1, last + 1)]


def schema(name: str) -> Any:
    return json.loads((TOP / PUBLISHED[name]).read_bytes())


def validated(name: str, value: Any) -> None:
    Draft202012Validator(schema(name)).validate(value)


@pytest.mark.parametrize("file", sorted(TOP.rglob("*.schema.json")), ids=lambda path: path.name)
def test_every_published_schema_is_one_by_the_metaschema_and_says_its_version(file: Path) -> None:
    value = json.loads(file.read_bytes())
    Draft202012Validator.check_schema(value)
    assert value["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    urn, house, what, version = value["$id"].split(":")
    assert (urn, house, what) == ("urn", "paramc", file.name.removesuffix(".schema.json"))
    assert int(version) >= 1


def test_each_document_has_its_schema(update: bool) -> None:
    written = {
        "presets": presets_schema_file(),
        "decode": account.schema_file(),
        "layout": layout_schema.schema_file(),
        "release": release_schema.schema_file(),
        "log": log.schema_file(),
    } | {name.removesuffix(".schema.json"): data for name, data in schema_files().items()}
    for name, data in written.items():
        if update:
            (TOP / PUBLISHED[name]).write_bytes(data)
        assert (TOP / PUBLISHED[name]).read_bytes() == data, name
    files = {path.relative_to(TOP).as_posix() for path in TOP.rglob("*.schema.json")}
    assert set(PUBLISHED.values()) == files and set(PUBLISHED) == set(written)


def test_the_readme_has_a_line_for_each() -> None:
    rows = table(page("README.md"), "document", "schema")
    named = re.findall(r"\]\(paramc/(.*?)\)", " ".join(row["schema"] for row in rows))
    assert sorted(named) == sorted(PUBLISHED.values())


@pytest.mark.slow
@pytest.mark.parametrize(("name", "revision"), EVERY)
def test_layouts_and_releases_are_as_their_schemas_say(name: str, revision: int) -> None:
    release = story(name)[revision - 1]
    validated("layout", json.loads(to_json(release.layout)))
    validated("release", json.loads(release_file(release)))


@pytest.mark.slow
@pytest.mark.parametrize(("name", "one", "other"), PAIRS)
def test_what_decode_says_of_any_dump_is_as_its_schema_says(name: str, one: int, other: int) -> None:
    """A unit of one revision, spoilt and moved, read with the releases of all products but one."""
    layout = story(name)[one - 1].layout
    memory = bytearray(stamp_image(layout, Unit("AB-1", None)))
    for at in range(60, len(memory), 37):
        memory[at] ^= 0x10
    at_hand = [
        AtHand(release.layout.product.name, release.layout, True)
        for product in REVISIONS
        for release in story(product)
        if (product, release.revision) != (name, other)
    ]
    for dump in (memory, b"\x7f" + memory, memory[: len(memory) // 2], memory + memory):
        found = recognise(Loaded(Form.RAW, (Chunk(0, bytes(dump)),), ()), at_hand)
        assert isinstance(found, Recognised), found
        value = account_value(account_of(found))
        validated("decode", value)
        assert json.loads(json.dumps(value)) == value
    validated("decode", refusal_value(("The dump is blank.",)))


@pytest.mark.parametrize(("name", "revision"), EVERY)
def test_a_products_own_schema_only_narrows_the_common_one(name: str, revision: int) -> None:
    layout = story(name)[revision - 1].layout
    own = json.loads(presets_schema(layout))
    Draft202012Validator.check_schema(own)
    assert own["$id"] == f"{schema('presets')['$id']}:{name}"
    sound = {item.name: value for item in layout.product.per_preset for value in [_value(own, item.name)]}
    document = {"format": 1, "product": name, "presets": [{"slot": 1, "values": sound}]}
    Draft202012Validator(own).validate(document)
    validated("presets", document)
    assert isinstance(read_document(layout, own, json.dumps(document).encode()), Document)
    mistakes: list[dict[str, Any]] = [{"format": 2}, {"presets": {}}, {"more": 1}, {"setup": []}]
    for wrong in mistakes:
        for either in (own, schema("presets")):
            assert not Draft202012Validator(either).is_valid({**document, **wrong})


def _value(own: Any, item: str) -> str:
    """A value that the schema offers for an item: the first word, or where the knob points to noon."""
    said = own["properties"]["presets"]["items"]["properties"]["values"]["properties"][item]
    return str(said["enum"][0]) if "enum" in said else "at 12:00"


@pytest.mark.parametrize("name", ["decode", "restore", "stamp", "verify"])
def test_what_is_said_in_another_form_is_not_as_the_schema_says(name: str) -> None:
    number = int(schema(name)["$id"].rsplit(":", 1)[1])
    sentence: Any = {"path": None, "sentence": "No."} if name == "restore" else "No."
    refusal: dict[str, Any] = {"format": number, "problems": [sentence]}
    validated(name, refusal)
    wrongs: list[dict[str, Any]] = [{"format": number + 1}, {"problems": [1]}, {"more": 1}, {"product": "x"}]
    for wrong in wrongs:
        assert not Draft202012Validator(schema(name)).is_valid({**refusal, **wrong}), wrong
