"""The release file: what goes in comes back, and whoever touches it is found out."""

from __future__ import annotations

import hashlib
import json
from importlib import resources
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from paramc.image.factory import factory_image
from paramc.layout.json_form import LARGEST_FILE, to_json
from paramc.release.freeze import freeze, release_file
from paramc.release.read import read_release
from paramc.release.release import Release, source_digest
from paramc.release.schema import release_schema, schema_file
from paramc.text.source import Source
from tests.unit.image.layouts import NAMES, example, released

EVERY = (*NAMES, "gravel_weir")


def value_of(name: str) -> dict[str, Any]:
    value: dict[str, Any] = json.loads(release_file(released(name)))
    return value


def signed(value: dict[str, Any]) -> bytes:
    """A file of a value, with a digest that fits: what somebody would write who knows how."""
    rest = {key: part for key, part in value.items() if key != "digest"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"))
    return json.dumps({**rest, "digest": hashlib.sha256(text.encode()).hexdigest().upper()}).encode()


def refused(data: bytes) -> str:
    answer = read_release(data)
    assert isinstance(answer, str) and answer[0].isupper() and answer.endswith(".")
    return answer


@pytest.mark.parametrize("name", EVERY)
def test_a_release_comes_back_as_it_was(name: str) -> None:
    made = released(name)
    file = release_file(made)
    back = read_release(file)
    assert isinstance(back, Release)
    assert (back.layout, back.image, back.digest) == (made.layout, made.image, made.digest)
    assert [(one.name, one.text) for one in back.sources] == [(one.name, one.text) for one in made.sources]
    assert release_file(back) == file
    assert back.image == factory_image(back.layout) and not back.layout.trial


@pytest.mark.slow
@pytest.mark.parametrize("name", EVERY)
def test_it_is_as_its_schema_says(name: str) -> None:
    Draft202012Validator.check_schema(release_schema())
    Draft202012Validator(release_schema()).validate(value_of(name))
    assert not Draft202012Validator(release_schema()).is_valid({**value_of(name), "more": 1})


def test_the_published_schema_is_the_one_of_the_types() -> None:
    """paramc/release/release.schema.json is written by schema_file()."""
    published = resources.files("paramc.release").joinpath("release.schema.json").read_bytes()
    assert published == schema_file()


@pytest.mark.parametrize("name", EVERY)
def test_the_digest_is_what_the_page_says(name: str) -> None:
    """paramc/layout/FORMAT.md, the release file; worked out here by the standard library alone."""
    assert signed(value_of(name)) == json.dumps(
        {**{key: part for key, part in value_of(name).items() if key != "digest"},
         "digest": value_of(name)["digest"]}
    ).encode()  # fmt: skip


def test_a_value_that_is_changed_anywhere_is_found_out() -> None:
    value = value_of("teasel_pinch")
    text = json.dumps(value)
    for old, new in (
        ('"adc_bits": 10', '"adc_bits": 12'), ("25 ms", "26 ms"), ('"Attack"', '"Attach"'), ('"FF', '"FE'),
        (value["digest"], "0" * 64),
    ):  # fmt: skip
        assert old in text
        assert "was changed" in refused(text.replace(old, new, 1).encode())


def test_blanks_and_line_ends_of_the_file_are_no_change() -> None:
    loose = json.dumps(value_of("teasel_pinch"), indent=4).replace("\n", "\r\n").encode()
    assert isinstance(read_release(loose), Release)


def test_what_is_no_release_gets_a_sentence() -> None:
    value = value_of("teasel_pinch")
    trial = json.loads(to_json(example("teasel_pinch")))
    other = value_of("hob_and_kiln")
    cases: list[tuple[bytes, str]] = [
        (b"", "not JSON"),
        (b"[]", "is no release"),
        (to_json(example("teasel_pinch")), "is no release"),
        (b"[" * 100, "brackets"),
        (b" " * (LARGEST_FILE + 1), "bytes"),
        (signed({**value, "format": 2}), "another format"),
        (signed({**value, "format": True}), "another format"),
        (signed({**value, "more": 1}), "not known"),
        (signed({**value, "layout": 3}), "layout of the release is not sound"),
        (signed({**value, "layout": trial}), "is a trial's"),
        (signed({**value, "image": other["image"]}), "image of the release"),
        (signed({**value, "image": "F"}), "image of the release"),
        (signed({**value, "image": 7}), "image of the release"),
        (signed({**value, "image": "00" * (1 << 17)}), "image of the release"),
        (signed({**value, "sources": []}), "sources of the release"),
        (signed({**value, "sources": [{"name": "../x", "text": ""}]}), "sources of the release"),
        (signed({**value, "sources": [{"name": "x", "text": 1}]}), "sources of the release"),
        (signed({**value, "sources": [{"name": "x"}]}), "sources of the release"),
        (signed({**value, "sources": [value["sources"][0]] * 101}), "sources of the release"),
    ]
    for data, words in cases:
        assert words in refused(data), words


def test_a_source_is_known_whatever_it_is_called_and_however_its_lines_end() -> None:
    text = "product x\n# one\n"
    same = source_digest([Source("a.paramc", text)])
    assert source_digest([Source("b.paramc", text.replace("\n", "\r\n"))]) == same
    assert source_digest([Source("a.paramc", f"{text} ")]) != same
    more = source_digest([Source("a.paramc", text), Source("house.paramc", "x")])
    assert len({same, more, source_digest([Source("a.paramc", text), Source("home.paramc", "x")])}) == 3


def test_the_same_source_gives_the_same_bytes_on_another_system() -> None:
    layout = released("teasel_pinch").layout
    text = released("teasel_pinch").sources[0].text
    files = {
        release_file(freeze(layout, [Source("teasel_pinch.paramc", one)]))
        for one in (text, text.replace("\n", "\r\n"))
    }
    assert files == {release_file(released("teasel_pinch"))}
