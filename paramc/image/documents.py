"""Preset documents: what a person or a program wants in the slots and settings, checked."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from itertools import islice
from typing import Any, Final

from paramc.frozen import dataclass
from paramc.image.codes import Fault, meant_by, shown
from paramc.layout.json_form import read_json
from paramc.layout.layout import Layout
from paramc.model.product import Product

LARGEST: Final = 1 << 20
"""Bytes of a document."""

MOST_PROBLEMS: Final = 50
"""So many are told; a document with more has something wrong with it as a whole."""

# What a terminal or a display could act on, or has no agreed look for; as in texts of a product file.
_NO_TEXT: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"
_TYPES: Final = {"string": "a text", "integer": "a whole number", "array": "an array", "object": "an object"}


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with a part of a document. path: the way to it, as JSONPath ("$.presets[2].name");
    sentence: whole, and complete without the path."""

    path: str
    sentence: str


@dataclass(frozen=True, slots=True)
class NewPreset:
    """A slot to write. slot: counts from 0; name: None where the document gives none; codes: one for
    every item kept per preset, in their order; said: the items that the document names."""

    slot: int
    name: str | None
    codes: tuple[int, ...]
    said: frozenset[str]


@dataclass(frozen=True, slots=True)
class Document:
    """A document that is right. setup: items with their codes; notes: values that are stored as their
    nearest neighbour, which is no mistake."""

    presets: tuple[NewPreset, ...]
    setup: tuple[tuple[str, int], ...]
    notes: tuple[Problem, ...]


def read_document(
    layout: Layout, schema: Mapping[str, Any], data: bytes
) -> Document | tuple[Problem, ...]:
    """The slots and settings of a document, or everything that is wrong with it.

    schema: of the product's preset documents (JSON Schema 2020-12). A slot reads like a preset block of a
    product file: what it does not say is the item's default. Never raises.
    """
    if len(data) > LARGEST:
        return (Problem("$", f"The document has more than {LARGEST >> 20} MiB, the most that is read."),)
    read = read_json(data.removeprefix(_BYTE_ORDER_MARK))
    if isinstance(read, str):
        return (Problem("$", read),)
    [value] = read
    if problems := _first(_against(schema, layout.product, value)):
        return problems
    notes: list[Problem] = []
    found: list[Problem] = []
    product = layout.product
    presets = tuple(_presets(product, value["presets"], found, notes))
    names = [item.name for item in product.kept_once]
    said = _codes(product, value.get("setup", {}), "$.setup", found, notes)
    if found:
        return _first(found)
    return Document(presets, tuple((name, said[name]) for name in names if name in said), tuple(notes))


# ---- by meaning


def _presets(
    product: Product, listed: Sequence[Mapping[str, Any]], found: list[Problem], notes: list[Problem]
) -> Iterator[NewPreset]:
    first: dict[int, int] = {}
    for at, preset in enumerate(listed):
        path, number = f"$.presets[{at}]", preset["slot"]
        if first.setdefault(number, at) != at:
            found.append(Problem(f"{path}.slot", f"Slot {number} is given twice."))
        name = preset.get("name")
        if name is not None:
            found.extend(Problem(f"{path}.name", fault) for fault in _name_faults(product, name))
        said = _codes(product, preset["values"], f"{path}.values", found, notes)
        codes = tuple(said.get(item.name, item.default) for item in product.per_preset)
        yield NewPreset(number - 1, name, codes, frozenset(said))


def _codes(
    product: Product, values: Mapping[str, str], path: str, found: list[Problem], notes: list[Problem]
) -> dict[str, int]:
    codes = {}
    for name, text in values.items():
        item = product.item(name)
        meant = meant_by(product, item, text)
        if isinstance(meant, Fault):
            found.append(Problem(f"{path}.{name}", meant.sentence))
            continue
        codes[name] = meant.code
        if meant.stored is not None:
            notes.append(Problem(f"{path}.{name}", f"{shown(text)} is stored as {meant.stored}."))
    return codes


def _name_faults(product: Product, name: str) -> Iterator[str]:
    """What keeps a text from being a preset's name: characters first, since they decide the bytes."""
    odd = next((char for char in name if unicodedata.category(char) in _NO_TEXT), None)
    if odd is not None:
        yield f"The name has the character U+{ord(odd):04X}, which cannot be shown."
        return
    if not unicodedata.is_normalized("NFC", name):
        yield f'The name "{shown(name)}" is not in Unicode normal form C, in which names are stored.'
        return
    size, most = len(name.encode()), product.holds.preset_names
    if size > most:
        yield f'The name "{shown(name)}" takes {size} bytes in UTF-8, and a name has room for {most}.'


# ---- against the schema


def _against(schema: Mapping[str, Any], product: Product, value: Any) -> Iterator[Problem]:
    """What the schema has against a value, in our own words."""
    from jsonschema import Draft202012Validator

    for error in Draft202012Validator(schema).iter_errors(value):
        path = tuple(error.absolute_path)
        sentence = _sentence(error, path, product)
        yield Problem(_path_text(path), sentence)


def _sentence(error: Any, path: tuple[str | int, ...], product: Product) -> str:
    what, instance = _called(path), error.instance
    match error.validator:
        case "type":
            return f"{what} must be {_TYPES.get(error.validator_value, error.validator_value)}."
        case "required":
            missing = [key for key in error.validator_value if key not in instance]
            return f"{what} lacks {' and '.join(missing)}."
        case "additionalProperties":
            known = list(error.schema["properties"])
            return f"{what} has {_unknown([key for key in instance if key not in known], known)}."
        case "const" if path == ("format",):
            form = error.validator_value
            return f"The document has another format than {form}, which this paramc reads."
        case "const":
            return f"The document is for product {shown(str(instance))}, and this is {error.validator_value}."
        case "minimum" | "maximum":
            slots = product.holds.preset_slots
            return f"{what} is {instance}, and the slots of this product are 1 to {slots}."
        case "maxItems":
            return f"{what} has {len(instance)} entries, and the product has {error.validator_value} slots."
        case "pattern" | "enum" if isinstance(instance, str):
            return _value_sentence(product, path[-1], instance)
        case "maxLength":
            return f"{what} has {len(instance)} characters, and room for {error.validator_value} bytes."
        case other:
            return f"{what} is not as the schema of preset documents asks ({other})."


def _value_sentence(product: Product, name: str | int, text: str) -> str:
    item = next((item for item in product.items if item.name == name), None)
    meant = None if item is None else meant_by(product, item, text)
    if isinstance(meant, Fault):
        return meant.sentence
    return f"{name}: {shown(text)} is not written in the form that the schema of preset documents asks for."


def _unknown(keys: Sequence[str], known: Sequence[str]) -> str:
    if len(keys) > 1:
        return f"{len(keys)} keys that are not known, the first {shown(keys[0])}"
    near = get_close_matches(shown(keys[0]), known, 1)
    return f"the key {shown(keys[0])}, which is not known" + (f"; the nearest is {near[0]}" if near else "")


def _called(path: tuple[str | int, ...]) -> str:
    """What a sentence calls a part of the document."""
    match path:
        case ():
            return "The document"
        case ("presets", int(at)):
            return f"Entry {at + 1} of presets"
        case ("presets", int(at), str(key)):
            return f"{key.capitalize()} of entry {at + 1} of presets"
        case _:
            return str(path[-1]).capitalize()


def _path_text(path: Iterable[str | int]) -> str:
    return "$" + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)


def _first(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The first few, each once."""
    return tuple(dict.fromkeys(islice(problems, MOST_PROBLEMS)))
