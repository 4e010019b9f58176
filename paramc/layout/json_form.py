"""The layout file: a layout as JSON, and back from a file that nobody vouches for."""

from __future__ import annotations

import json
import re
from typing import Any, Final

from paramc.layout.codec import Codec, Json, Wrong, first_difference
from paramc.layout.derived import DERIVED
from paramc.layout.layout import FORMAT, Layout
from paramc.layout.sound import faults

LARGEST_FILE: Final = 16 << 20
"""Bytes that a layout file may have."""

_DEEPEST: Final = 96
_LONGEST_INTEGER: Final = 20
_WIDTH: Final = 110
# Texts, ended or not so that no two tries begin in one, and runs of what is no bracket.
_NO_BRACKETS: Final = re.compile(rb'"(?:[^"\\]|\\.)*(?:"|\\?\Z)|[^][{}"]+', re.DOTALL)


def to_json(layout: Layout) -> bytes:
    """The layout file: keys in their declared order, ASCII, one line feed at the end."""
    return document(layout_value(layout))


def document(value: Json) -> bytes:
    """A JSON file of a value, as the layout file is written."""
    return (_written(value, "") + "\n").encode("ascii")


def layout_value(layout: Layout) -> Json:
    """The same as a value of dicts, lists, texts and whole numbers, to stand in a larger document."""
    return Codec(Layout, DERIVED).encode(layout)


def from_json(data: bytes) -> Layout | str:
    """The layout of a file, or a sentence on the first thing that is wrong with it. Never raises.

    What to_json wrote comes back equal, places in the source aside.
    """
    value = read_json(data)
    return value if isinstance(value, str) else from_value(value[0])


def from_value(value: Json) -> Layout | str:
    """The layout that a value as layout_value gives stands for, or a sentence."""
    if isinstance(value, dict) and type(value.get("format")) is int and value["format"] != FORMAT:
        return f"The layout file has format {value['format']}, and this paramc reads format {FORMAT}."
    codec = Codec(Layout, DERIVED)
    try:
        layout: Layout = codec.decode(value)
    except Wrong as wrong:
        return str(wrong)
    fault = next(faults(layout), None)
    if fault is not None:
        return fault
    where = first_difference(value, codec.encode(layout))
    if where is not None:
        return f"{where} does not agree with the rest of the layout, or is not in its plainest form."
    return layout


def read_json(data: bytes) -> tuple[Json] | str:
    """The value of a JSON text within bounds, in a tuple because a text may be the value; or a sentence.

    Bounds: LARGEST_FILE bytes, brackets _DEEPEST deep, integers of 20 digits; no other numbers, no key
    twice in an object. Never raises.
    """
    if len(data) > LARGEST_FILE:
        return f"The file has more than {LARGEST_FILE} bytes."
    depth = 0
    for mark in _NO_BRACKETS.sub(b"", data):
        depth += (mark in b"[{") - (mark in b"]}")
        if depth > _DEEPEST:
            return f"The file has brackets more than {_DEEPEST} deep."
    try:
        text = data.decode("utf-8")
        return (
            json.loads(
                text,
                object_pairs_hook=_object,
                parse_int=_integer,
                parse_float=_no_number,
                parse_constant=_no_number,
            ),
        )
    except Wrong as wrong:
        return str(wrong)
    except UnicodeDecodeError as error:
        return f"The file is not UTF-8: byte {error.start} is not part of a character."
    except json.JSONDecodeError as error:
        return f"The file is not JSON: {error.msg}, in line {error.lineno}, column {error.colno}."


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        last = {key: at for at, (key, _) in enumerate(pairs)}
        twice = next(key for at, (key, _) in enumerate(pairs) if last[key] != at)
        raise Wrong("", f"has the key {json.dumps(twice[:40])} twice in one object")
    return found


def _integer(digits: str) -> int:
    if len(digits) > _LONGEST_INTEGER:
        raise Wrong("", f"has a number of {len(digits)} digits")
    return int(digits)


def _no_number(text: str) -> Any:
    raise Wrong("", f"has the number {text[:40]}, and only whole numbers are written as numbers")


def _written(value: Json, indent: str) -> str:
    """A JSON value: on one line where it is short or a list of plain values, else a line a part."""
    if not isinstance(value, dict | list) or not value:
        return json.dumps(value)
    if isinstance(value, list) and not any(isinstance(part, dict | list) for part in value):
        return json.dumps(value, separators=(", ", ": "))
    inner = indent + "  "
    if isinstance(value, dict):
        parts = [f"{json.dumps(key)}: {_written(part, inner)}" for key, part in value.items()]
    else:
        parts = [_written(part, inner) for part in value]
    opened, closed = "{}" if isinstance(value, dict) else "[]"
    if not any("\n" in part for part in parts):
        line = f"{opened}{', '.join(parts)}{closed}"
        if len(line) <= _WIDTH - len(indent):
            return line
    joined = f",\n{inner}".join(parts)
    return f"{opened}\n{inner}{joined}\n{indent}{closed}"
