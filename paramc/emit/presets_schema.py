"""NAME.presets.schema.json: what a preset document may hold, as JSON Schema 2020-12."""

from __future__ import annotations

import json
from typing import Any, assert_never

from paramc.layout.layout import Layout
from paramc.model.items import Flag, Param, Selector
from paramc.model.panel import Knob
from paramc.numbers.quantity import Quantity

_CLOCK = "at (7|8|9|10|11|12|1|2|3|4):[0-5][0-9]|at 5:00"


def presets_schema(layout: Layout) -> bytes:
    """The schema of the product's preset documents; what it cannot say is checked by meaning."""
    product = layout.product
    value: dict[str, Any] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:paramc:presets:{product.name}",
        "$comment": "Made by paramc. Change the product file, not this one.",
        "title": f"Presets of {product.label}",
        "type": "object",
        "properties": {
            "$schema": {"type": "string"},
            "product": {"const": product.name},
            "presets": {
                "type": "array",
                "maxItems": product.holds.preset_slots,
                "items": {
                    "type": "object",
                    "properties": {
                        "slot": {"type": "integer", "minimum": 1, "maximum": product.holds.preset_slots},
                        "name": {"type": "string", "maxLength": product.holds.preset_names},
                        "values": {
                            "type": "object",
                            "properties": {item.name: _item(layout, item) for item in product.per_preset},
                            "additionalProperties": False,
                        },
                    },
                    "required": ["slot", "values"],
                    "additionalProperties": False,
                },
            },
            "setup": {
                "type": "object",
                "properties": {item.name: _item(layout, item) for item in product.kept_once},
                "additionalProperties": False,
            },
        },
        "required": ["product", "presets"],
        "additionalProperties": False,
    }
    if not product.holds.preset_names:
        del value["properties"]["presets"]["items"]["properties"]["name"]
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
