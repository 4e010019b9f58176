"""The schema of the layout file, made from the very types that it is written and read by."""

from __future__ import annotations

import json
from typing import Any

from paramc.layout.codec import Codec
from paramc.layout.derived import DERIVED
from paramc.layout.layout import FORMAT, Layout


def layout_schema() -> dict[str, Any]:
    """JSON Schema 2020-12; layout.schema.json beside this file is the same, for other tools."""
    made = Codec(Layout, DERIVED).schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:paramc:layout:{FORMAT}",
        "title": "The meaning of a product's memory",
        **made,
    }


def schema_file() -> bytes:
    """The bytes of layout.schema.json."""
    return (json.dumps(layout_schema(), indent=1, ensure_ascii=True) + "\n").encode("ascii")
