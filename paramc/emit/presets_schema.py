"""NAME.presets.schema.json: what a preset document may hold, as JSON Schema 2020-12.

presets.schema.json beside this file is what those of all products have in common.
"""

from __future__ import annotations

import json
from typing import Any, assert_never

from paramc.layout.layout import Layout
from paramc.model.items import Flag, Param, Selector
from paramc.model.panel import Knob
from paramc.numbers.quantity import Quantity

FORMAT = 1
"""The number of the form of preset documents; one that does not say it is of this form."""

NAME = "^[a-z][a-z0-9_]{0,99}$"

_CLOCK = "at (7|8|9|10|11|12|1|2|3|4):[0-5][0-9]|at 5:00"


def presets_schema(layout: Layout) -> bytes:
    """The schema of the product's preset documents; what it cannot say is checked by meaning."""
    product = layout.product
    slots, names = product.holds.preset_slots, product.holds.preset_names
    value = _document(
        f"urn:paramc:presets:{FORMAT}:{product.name}",
        f"Presets of {product.label}",
        {"const": product.name},
        {item.name: _item(layout, item) for item in product.per_preset},
        {item.name: _item(layout, item) for item in product.kept_once},
    )
    value["$comment"] = "Made by paramc. Change the product file, not this one."
    value["properties"]["presets"]["maxItems"] = slots
    preset = value["properties"]["presets"]["items"]["properties"]
    preset["slot"]["maximum"] = slots
    preset["name"]["maxLength"] = names
    if not names:
        del preset["name"]
    return _file(value)


def schema_file() -> bytes:
    """The bytes of presets.schema.json: what the preset documents of all products have in common."""
    value = _document(
        f"urn:paramc:presets:{FORMAT}", "Presets of a product", {"type": "string", "pattern": NAME}, {}, {}
    )
    preset = value["properties"]["presets"]["items"]["properties"]
    for values in (preset["values"], value["properties"]["setup"]):
        values["propertyNames"] = {"pattern": NAME}
        values["additionalProperties"] = {"type": "string"}
        del values["properties"]
    return _file(value)


def _document(
    called: str, title: str, product: dict[str, Any], values: dict[str, Any], setup: dict[str, Any]
) -> dict[str, Any]:
    """The schema of a document. called: its address."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": called,
        "title": title,
        "type": "object",
        "properties": {
            "$schema": {"type": "string"},
            "format": {"const": FORMAT},
            "product": product,
            "presets": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "slot": {"type": "integer", "minimum": 1},
                        "name": {"type": "string"},
                        "values": {
                            "type": "object",
                            "properties": values,
                            "additionalProperties": False,
                        },
                    },
                    "required": ["slot", "values"],
                    "additionalProperties": False,
                },
            },
            "setup": {"type": "object", "properties": setup, "additionalProperties": False},
        },
        "required": ["product", "presets"],
        "additionalProperties": False,
    }


def _file(value: dict[str, Any]) -> bytes:
    return (json.dumps(value, indent=1, ensure_ascii=True) + "\n").encode()


def _item(layout: Layout, item: Param | Selector | Flag) -> dict[str, Any]:
    match item:
        case Param():
            scale = item.scale
            first, last = Quantity(scale.first, scale.unit), Quantity(scale.last, scale.unit)
            off = "|off" if scale.off_at_stop else ""
            number = r"[-+\u2212]?\s?[0-9][0-9_]*(\.[0-9]+)?"
            return {
                "title": item.label,
                "description": f"{first} to {last}",
                "type": "string",
                "pattern": rf"^({number}(:1|\s?\S{{0,12}})|{_CLOCK}{off})$",
            }
        case Selector():
            return _choice(layout, item, [way.name for way in item.ways])
        case Flag():
            return _choice(layout, item, ["off", "on"])
        case other:
            assert_never(other)


def _choice(layout: Layout, item: Selector | Flag, words: list[str]) -> dict[str, Any]:
    """One of the words, or where a knob sets the item also the knob's position."""
    product = layout.product
    by_knob = any(isinstance(product.control(sets.control), Knob) for _, sets in product.setters(item.name))
    if not by_knob:
        return {"title": item.label, "enum": words}
    return {"title": item.label, "type": "string", "pattern": f"^({'|'.join(words)}|{_CLOCK})$"}
