"""The schema of the release file; the layout in it is as its own schema has it."""

from __future__ import annotations

import json
from typing import Any

from paramc.layout.schema import layout_schema
from paramc.release.release import FORMAT


def release_schema() -> dict[str, Any]:
    """JSON Schema 2020-12; release.schema.json beside this file is the same, for other tools."""
    layout = layout_schema()
    properties = {
        "format": {"const": FORMAT},
        "digest": {
            "description": "SHA-256 over the rest of the object: ASCII, keys sorted, no blanks.",
            "type": "string",
            "pattern": "^[0-9A-F]{64}$",
        },
        "layout": {"description": "What every stored bit means.", "$ref": layout["$ref"]},
        "image": {
            "description": "The whole memory of a new unit, in hexadecimal.",
            "type": "string",
            "pattern": "^([0-9A-F]{2})+$",
        },
        "sources": {
            "description": "The product file, and behind it all that it borrows.",
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "properties": {"name": {"type": "string"}, "text": {"type": "string"}},
                "required": ["name", "text"],
                "additionalProperties": False,
            },
        },
    }
    return {
        "$schema": layout["$schema"],
        "$id": f"urn:paramc:release:{FORMAT}",
        "title": "A frozen revision of a product",
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
        "$defs": layout["$defs"],
    }


def schema_file() -> bytes:
    """The bytes of release.schema.json."""
    return (json.dumps(release_schema(), indent=1, ensure_ascii=True) + "\n").encode("ascii")
