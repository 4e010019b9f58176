"""Frozen dataclasses <-> JSON values, and their JSON Schema, from the types alone.

An object has a dataclass's fields as keys, in their order; fields that take no part in equality
(places in a source) are left out. Fractions are texts ("0.5", "1/3"), units their symbol,
enumerations their word, tuples arrays. A class that is one of several has its words as "kind".
"""

from __future__ import annotations

import dataclasses
import inspect
import json
import re
import types
import typing
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from fractions import Fraction
from typing import Any, Final

from paramc.frozen import dataclass
from paramc.model.later import came_later
from paramc.numbers.quantity import decimal_text
from paramc.numbers.units import UNITS, Unit

Json = Any
"""What the json module reads: dict, list, str, int, bool or None. No floats."""

_NUMBER: Final = r"-?(0|[1-9][0-9]*)(\.[0-9]+|/[1-9][0-9]*)?"
_LONGEST_NUMBER: Final = 400
_LONGEST_SHOWN: Final = 40
_JSON_TYPES: Final = {bool: "boolean", int: "integer", str: "string"}
_UNITS: Final = {unit.symbol: unit for unit in UNITS}
# Control and invisible marks, halves of characters, separators that editors take for line ends.
_NO_TEXT: Final = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


class Wrong(Exception):
    """A JSON value that is not of its type; where is the way to it, what a sentence's end."""

    def __init__(self, where: str, what: str) -> None:
        super().__init__(f"{where or 'The file'} {what}.")


@dataclass(frozen=True, slots=True)
class Derived:
    """A key that can be worked out from the rest, for readers that are not to work it out.

    of: the whole and the object that the key stands in, to the key's value. hint: that value's type.
    """

    key: str
    hint: Any
    of: Callable[[Any, Any], Any]
    description: str


class Codec:
    """How one dataclass, the whole, and all that it is made of are written.

    derived: further keys of some classes.
    """

    def __init__(self, whole: type, derived: Mapping[type, Sequence[Derived]]) -> None:
        self._whole = whole
        self._derived = derived
        self._hints: dict[type, dict[str, Any]] = {}

    def encode(self, whole: Any) -> Json:
        """The JSON value of the whole."""
        return self._encode(self._whole, whole, whole)

    def decode(self, value: Json) -> Any:
        """The whole that a JSON value stands for; derived keys must be there and are not looked at.

        Wrong where the value is not of the type.
        """
        return self._decode(self._whole, value, "")

    def schema(self) -> dict[str, Json]:
        """The JSON Schema (2020-12) of the whole."""
        definitions: dict[str, Json] = {}
        top = self._schema(self._whole, definitions)
        return {**top, "$defs": dict(sorted(definitions.items()))}

    # ---- values

    def _encode(self, hint: Any, value: Any, whole: Any) -> Json:
        if value is None or isinstance(value, bool | int | str):
            return value
        if isinstance(value, Fraction):
            return fraction_text(value)
        if isinstance(value, Unit):
            return value.symbol
        if isinstance(value, Enum):
            return value.value
        if isinstance(value, tuple):
            hints = _element_hints(hint, len(value))
            return [self._encode(of, part, whole) for of, part in zip(hints, value, strict=True)]
        cls = type(value)
        encoded = {} if _own_kind(cls) or len(_classes(hint)) == 1 else {"kind": _word(cls)}
        for key, of in self._fields(cls).items():
            encoded[key] = self._encode(of, getattr(value, key), whole)
        for extra in self._derived.get(cls, ()):
            encoded[extra.key] = self._encode(extra.hint, extra.of(whole, value), whole)
        return encoded

    def _decode(self, hint: Any, value: Json, where: str) -> Any:
        options = _options(hint)
        if value is None:
            if type(None) not in options:
                raise Wrong(where, "is null, and a value belongs there")
            return None
        first = next(option for option in options if option is not type(None))
        if typing.get_origin(first) is tuple:
            return self._decode_array(first, value, where)
        if dataclasses.is_dataclass(first) and first is not Unit:
            return self._decode_object(hint, value, where)
        return _scalar(first, value, where)

    def _decode_array(self, hint: Any, value: Json, where: str) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise Wrong(where, f"is {_shown(value)}, and an array belongs there")
        if typing.get_args(hint)[-1] is not Ellipsis and len(value) != len(typing.get_args(hint)):
            raise Wrong(where, f"has {len(value)} entries, not {len(typing.get_args(hint))}")
        hints = _element_hints(hint, len(value))
        return tuple(
            self._decode(of, part, f"{where}[{at}]")
            for at, (of, part) in enumerate(zip(hints, value, strict=True))
        )

    def _decode_object(self, hint: Any, value: Json, where: str) -> Any:
        if not isinstance(value, dict):
            raise Wrong(where, f"is {_shown(value)}, and an object belongs there")
        cls = self._class_of(hint, value, where)
        fields = self._fields(cls)
        known = {*fields, *(extra.key for extra in self._derived.get(cls, ()))}
        if len(_classes(hint)) > 1:
            known.add("kind")
        for key in value:
            if key not in known:
                raise Wrong(where, f"has a key {_shown(key)} that is not known")
        for key in sorted(known - _later(cls)):
            if key not in value:
                raise Wrong(where, f'lacks the key "{key}"')
        way = f"{where}." if where else ""
        parts = {
            key: self._decode(of, value[key], f"{way}{key}") for key, of in fields.items() if key in value
        }
        try:
            return cls(**parts)
        except ValueError as error:
            raise Wrong(where, f"is not right: {str(error).rstrip('.')}") from None

    def _class_of(self, hint: Any, value: dict[str, Json], where: str) -> Any:
        classes = _classes(hint)
        if len(classes) == 1:
            return classes[0]
        kind = value.get("kind")
        for cls in classes:
            if kind in self._kinds(cls):
                return cls
        raise Wrong(where, f"has the kind {_shown(kind)}, which is not known")

    # ---- schema

    def _schema(self, hint: Any, definitions: dict[str, Json]) -> dict[str, Json]:
        options = _options(hint)
        found = [self._schema_of(option, hint, definitions) for option in options]
        return found[0] if len(found) == 1 else {"anyOf": found}

    def _schema_of(self, option: Any, hint: Any, definitions: dict[str, Json]) -> dict[str, Json]:
        if option is type(None):
            return {"type": "null"}
        if typing.get_origin(option) is tuple:
            args = typing.get_args(option)
            if args[-1] is Ellipsis:
                return {"type": "array", "items": self._schema(args[0], definitions)}
            parts = [self._schema(arg, definitions) for arg in args]
            return {"type": "array", "prefixItems": parts, "items": False, "minItems": len(parts)}
        if option is Unit:
            return {"enum": list(_UNITS)}
        if option is Fraction:
            return {"type": "string", "pattern": f"^{_NUMBER}$"}
        if issubclass(option, Enum):
            return {"enum": [member.value for member in option]}
        if option in _JSON_TYPES:
            return {"type": _JSON_TYPES[option]}
        if option.__name__ not in definitions:
            definitions[option.__name__] = {}  # known before its parts are, should one refer to it
            definitions[option.__name__] = self._object_schema(option, hint, definitions)
        return {"$ref": f"#/$defs/{option.__name__}"}

    def _object_schema(self, cls: type, hint: Any, definitions: dict[str, Json]) -> dict[str, Json]:
        properties: dict[str, Json] = {}
        if len(_classes(hint)) > 1 and not _own_kind(cls):
            properties["kind"] = {"const": _word(cls)}
        for key, of in self._fields(cls).items():
            properties[key] = self._schema(of, definitions)
        for extra in self._derived.get(cls, ()):
            properties[extra.key] = {
                "description": extra.description,
                **self._schema(extra.hint, definitions),
            }
        return {
            "description": " ".join((inspect.getdoc(cls) or "").split()),
            "type": "object",
            "properties": properties,
            "required": [key for key in properties if key not in _later(cls)],
            "additionalProperties": False,
        }

    # ---- types

    def _fields(self, cls: type) -> dict[str, Any]:
        if cls not in self._hints:
            hints = typing.get_type_hints(cls)
            self._hints[cls] = {
                field.name: hints[field.name]
                for field in dataclasses.fields(cls)
                if field.compare and field.init
            }
        return self._hints[cls]

    def _kinds(self, cls: type) -> tuple[str, ...]:
        if _own_kind(cls):
            return tuple(member.value for member in self._fields(cls)["kind"])
        return (_word(cls),)


def fraction_text(number: Fraction) -> str:
    """A decimal where one is exact, else numerator and denominator."""
    text = decimal_text(number)
    return f"{number.numerator}/{number.denominator}" if text.startswith("about ") else text


def first_difference(one: Json, other: Json, where: str = "") -> str | None:
    """The way to the first place where two JSON values differ, in the order of the first one."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        way = f"{where}." if where else ""
        pairs = [(f"{way}{key}", one[key], other[key]) for key in one]
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = [(f"{where}[{at}]", *parts) for at, parts in enumerate(zip(one, other, strict=True))]
    else:
        return None if type(one) is type(other) and one == other else where
    found = (first_difference(mine, theirs, at) for at, mine, theirs in pairs)
    return next((at for at in found if at is not None), None)


def _scalar(hint: Any, value: Json, where: str) -> Any:
    if hint in (bool, int):
        if type(value) is not hint:
            word = "true or false" if hint is bool else "a whole number"
            raise Wrong(where, f"is {_shown(value)}, and {word} belongs there")
        return value
    if not isinstance(value, str):
        raise Wrong(where, f"is {_shown(value)}, and a text belongs there")
    if hint is str:
        if any(unicodedata.category(char) in _NO_TEXT and char != "\n" for char in value):
            raise Wrong(where, "has a character that cannot be shown")
        return value
    if hint is Fraction:
        if len(value) > _LONGEST_NUMBER or not re.fullmatch(_NUMBER, value, re.ASCII):
            raise Wrong(where, f"is {_shown(value)}, and a number belongs there")
        return Fraction(value)
    words = _UNITS if hint is Unit else {member.value: member for member in hint}
    if value not in words:
        raise Wrong(where, f"is {_shown(value)}, which is not one of its words")
    return words[value]


def _options(hint: Any) -> tuple[Any, ...]:
    """The members of a union, or the one type."""
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        return typing.get_args(hint)
    return (hint,)


def _classes(hint: Any) -> tuple[Any, ...]:
    return tuple(option for option in _options(hint) if option is not type(None))


def _element_hints(hint: Any, count: int) -> Sequence[Any]:
    array = next(option for option in _options(hint) if typing.get_origin(option) is tuple)
    args = typing.get_args(array)
    return [args[0]] * count if args[-1] is Ellipsis else args


def _own_kind(cls: type) -> bool:
    """Whether a class says its kind itself, as a switch that is a toggle or a rotary."""
    return any(field.name == "kind" for field in dataclasses.fields(cls))


def _later(cls: type) -> set[str]:
    """The keys that files from before they were there do not have."""
    return {field.name for field in dataclasses.fields(cls) if came_later(field)}


def _word(cls: type) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", " ", cls.__name__).lower()


def _shown(value: Json) -> str:
    """A value in a sentence: short, and nothing in it that a terminal would act on."""
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "an array"
    text = json.dumps(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."
