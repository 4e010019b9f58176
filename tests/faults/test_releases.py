"""Release files that are damaged or hostile: a sentence each time, never an exception."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.release.freeze import release_file
from paramc.release.read import read_release
from paramc.release.release import Release
from tests.unit.image.layouts import released
from tests.unit.release.test_release_file import signed

FILE = release_file(released("teasel_pinch"))

values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**19), 10**19) | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3),
    max_leaves=9,
)


@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    assert isinstance(read_release(data), str)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, len(FILE) - 1), st.integers(1, 255))
def test_one_byte_that_is_another(at: int, by: int) -> None:
    damaged = bytearray(FILE)
    damaged[at] ^= by
    answer = read_release(bytes(damaged))
    # A blank between two values may become another blank.
    assert isinstance(answer, str) or (FILE[at] in b" \n" and isinstance(answer, Release))


@settings(deadline=None, max_examples=60)
@given(st.integers(0, len(FILE) - 2))
def test_a_file_that_was_cut_short(length: int) -> None:
    assert isinstance(read_release(FILE[:length]), str)


def paths(value: Any, way: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [way, *(path for key, part in inside for path in paths(part, (*way, key)))]


WAYS = [way for way in paths(json.loads(FILE)) if way]


@pytest.mark.slow
@settings(deadline=None, max_examples=150)
@given(st.sampled_from(WAYS), values)
def test_any_value_in_place_of_another_with_a_digest_that_fits(
    way: tuple[str | int, ...], value: object
) -> None:
    whole = json.loads(FILE)
    inside = whole
    for step in way[:-1]:
        inside = inside[step]
    inside[way[-1]] = value
    answer = read_release(signed(whole))
    if isinstance(answer, Release):
        # A label or the source may be anything that can be shown; then all of it was understood.
        assert json.loads(release_file(answer)) == json.loads(signed(whole))
    else:
        assert answer.endswith(".")
