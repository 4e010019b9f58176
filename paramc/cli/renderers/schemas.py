"""The published forms of what stamp, verify and restore say with --json."""

from __future__ import annotations

import json
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from paramc.cli.renderers import restored
from paramc.cli.renderers import stamp as stamped
from paramc.cli.verify import FORMAT as VERIFIED
from paramc.image.account import account_schema
from paramc.image.log import Outcome
from paramc.image.restore import Fate, Origin
from paramc.layout.layout import Kind
from paramc.model.items import Signal

_TEXT: Final[dict[str, Any]] = {"type": "string"}
_TEXTS: Final[dict[str, Any]] = {"type": "array", "items": _TEXT}
_FLAG: Final[dict[str, Any]] = {"type": "boolean"}
_COUNT: Final[dict[str, Any]] = {"type": "integer", "minimum": 0}
_FROM_ONE: Final[dict[str, Any]] = {"type": "integer", "minimum": 1}
_FINGERPRINT: Final[dict[str, Any]] = {"type": "string", "pattern": "^[0-9A-F]{8}$"}
_DIGEST: Final[dict[str, Any]] = {"type": "string", "pattern": "^[0-9A-F]{64}$"}


def _closed(description: str, properties: Mapping[str, Any]) -> dict[str, Any]:
    """An object that has these keys and no others."""
    return {
        "description": description,
        "type": "object",
        "properties": dict(properties),
        "required": list(properties),
        "additionalProperties": False,
    }


def _list(items: dict[str, Any], least: int = 0) -> dict[str, Any]:
    return {"type": "array", "items": items, **({"minItems": least} if least else {})}


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


_CAUTIONS: Final = _list(
    _closed(
        "A caution that belongs to the product. key: stable, for translations.",
        {"key": _TEXT, "signal": {"enum": [signal.value for signal in Signal]}, "text": _TEXT},
    )
)


def restore_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of what restore says."""
    account = account_schema()["$defs"]
    came = [Origin.DUMP.value, Origin.LOG.value]
    fate: dict[str, Any] = {"enum": [one.value for one in Fate]}
    trim = _closed(
        "A trim, or the measured ends of a control. from: what was measured once is carried over from the"
        " dump or the log; what never was is nominal.",
        {"item": _TEXT, "value": _TEXT, "from": {"enum": [*came, restored.NOMINAL]}},
    )
    report = _closed(
        "An image that was made. identity, bench: where they come from; carried: records that other revisions"
        " saved; bytes, sha256: of the file.",
        {
            "format": {"const": restored.FORMAT},
            "problems": {"type": "array", "maxItems": 0},
            "product": _TEXT,
            "revision": _FROM_ONE,
            "fingerprint": _FINGERPRINT,
            "serial": _or_null(_TEXT),
            "hardware": _or_null(_TEXT),
            "identity": {"enum": came},
            "bench": {"enum": [*came, None]},
            "trims": _list(trim),
            "presets": _list(_closed("A slot, from 1.", {"number": _FROM_ONE, "fate": fate}), 1),
            "setup": _or_null(fate),
            "state": fate,
            "carried": _list({"$ref": "#/$defs/FromRevision"}),
            "notes": _TEXTS,
            "file": _TEXT,
            "bytes": _FROM_ONE,
            "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
            "texts": _CAUTIONS,
        },
    )
    problem = _closed(
        "path: where in the preset document, null where it is not about that.",
        {"path": _or_null(_TEXT), "sentence": _TEXT},
    )
    refusal = _closed(
        "Why no image was made.", {"format": {"const": restored.FORMAT}, "problems": _list(problem, 1)}
    )
    definitions = {name: account[name] for name in ("FromRevision", "Moved")}
    return _schema("restore", restored.FORMAT, "What restore did", report, refusal, definitions)


def stamp_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of what a run of stamp says."""
    trim = _closed(
        "A trim of the image. measured: on this unit, else nominal; kept: from an earlier attempt.",
        {"item": _TEXT, "value": _TEXT, "measured": _FLAG, "kept": _FLAG},
    )
    unit = _closed(
        "A line of the list. check: the check characters of the label; not_taken: trims that an earlier"
        " attempt had measured otherwise; column, cell, reason: of a unit that failed.",
        {
            "line": _COUNT,
            "serial": _TEXT,
            "check": _or_null(_TEXT),
            "outcome": {"enum": [outcome.value for outcome in Outcome]},
            "attempt": _FROM_ONE,
            "hardware": _or_null(_TEXT),
            "trims": _list(trim),
            "not_taken": _TEXTS,
            "file": _or_null(_TEXT),
            "image": _or_null(_DIGEST),
            "column": _or_null(_TEXT),
            "cell": _or_null(_TEXT),
            "reason": _or_null(_TEXT),
        },
    )
    spread = _closed(
        "How a trim lies over the measured units of the run. near: how many are near an end of what is"
        " plausible; near_serials: the first of them.",
        {
            "item": _TEXT,
            "units": _FROM_ONE,
            "mean": _TEXT,
            "deviation": _or_null(_TEXT),
            "near": _COUNT,
            "near_serials": _TEXTS,
            "low": _TEXT,
            "high": _TEXT,
        },
    )
    run = _closed(
        "A run. problems: what stopped it on the way; missing: units that came to no end because of it.",
        {
            "format": {"const": stamped.FORMAT},
            "problems": _TEXTS,
            "product": _TEXT,
            "revision": _FROM_ONE,
            "fingerprint": _FINGERPRINT,
            "release": _DIGEST,
            "listed": _COUNT,
            "made": _COUNT,
            "failed": _COUNT,
            "missing": _COUNT,
            "reserved_without_image": _TEXTS,
            "spread": _list(spread),
            "texts": _CAUTIONS,
            "units": _list(unit),
        },
    )
    return _schema("stamp", stamped.FORMAT, "What a run of stamp did", run, _refusal(stamped.FORMAT))


def verify_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of what verify says."""
    difference = _closed(
        "What is not as it was meant. preset: from 1; address: of the record; field: null where the record"
        " cannot be read.",
        {
            "record": {"enum": [*(kind.value for kind in Kind), None]},
            "preset": _or_null(_FROM_ONE),
            "address": _or_null(_COUNT),
            "field": _or_null(_TEXT),
            "meant": _TEXT,
            "found": _TEXT,
        },
    )
    unit = _closed(
        "A dump.",
        {
            "dump": _TEXT,
            "serial": _or_null(_TEXT),
            "result": {"enum": ["PASS", "FAIL"]},
            "reason": _or_null(_TEXT),
            "differences": _list(difference),
        },
    )
    verdicts = _closed(
        "All dumps. meant_by: whether serial and trims are held against the log, or as the dump has them.",
        {
            "format": {"const": VERIFIED},
            "problems": {"type": "array", "maxItems": 0},
            "product": _TEXT,
            "revision": _FROM_ONE,
            "meant_by": {"enum": ["dump", "log"]},
            "passed": _COUNT,
            "failed": _COUNT,
            "units": _list(unit, 1),
            "texts": _CAUTIONS,
        },
    )
    return _schema("verify", VERIFIED, "What verify found", verdicts, _refusal(VERIFIED))


def _refusal(number: int) -> dict[str, Any]:
    return _closed(
        "Why nothing could be done: whole sentences.",
        {"format": {"const": number}, "problems": _list(_TEXT, 1)},
    )


def _schema(
    name: str,
    number: int,
    title: str,
    done: dict[str, Any],
    refused: dict[str, Any],
    more: Mapping[str, Any] = MappingProxyType({}),
) -> dict[str, Any]:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:paramc:{name}:{number}",
        "title": title,
        "anyOf": [{"$ref": "#/$defs/Done"}, {"$ref": "#/$defs/Refusal"}],
        "$defs": {"Done": done, "Refusal": refused, **more},
    }


def schema_files() -> dict[str, bytes]:
    """The files beside this one by their names."""
    schemas = {"restore": restore_schema(), "stamp": stamp_schema(), "verify": verify_schema()}
    return {
        f"{name}.schema.json": (json.dumps(schema, indent=1, ensure_ascii=True) + "\n").encode("ascii")
        for name, schema in schemas.items()
    }
