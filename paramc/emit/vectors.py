"""NAME.vectors.json: what the firmware must compute and write, for a rig that replays it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from paramc.layout.layout import KnobTable, Layout
from paramc.model.panel import Knob
from paramc.numbers import crc
from paramc.tables.forms import value_at
from paramc.tables.knob import knob_code

FORMAT = 1
_CHECK_MESSAGE = b"123456789"
_ALL_UP_TO = 256
_SAMPLES = 64


def vectors(layout: Layout, image: bytes, records: Sequence[dict[str, Any]]) -> bytes:
    """The vectors of a layout.

    image: the factory image. records: from the image floor, each with purpose, kind, address,
    counter, values in the order of the kind's fields, and bytes in hexadecimal.
    """
    algorithm = layout.product.chip.checksum
    value = {
        "format": FORMAT,
        "made_by": "paramc",
        "product": layout.product.name,
        "fingerprint": f"{layout.fingerprint:08X}",
        "checksum": {
            "message": _CHECK_MESSAGE.hex(),
            "value": f"{crc.compute(algorithm, _CHECK_MESSAGE):0{algorithm.size * 2}X}",
        },
        "engines": [_engine(layout, at) for at in range(len(layout.engines))],
        "knobs": [_knob(layout, table) for table in layout.knobs],
        "records": list(records),
        "image": {"bytes": len(image), "sha256": hashlib.sha256(image).hexdigest()},
    }
    return (json.dumps(value, indent=1, ensure_ascii=True) + "\n").encode()


def _engine(layout: Layout, at: int) -> dict[str, Any]:
    engine = layout.engines[at]
    codes = _spread(engine.table.entries)
    return {"item": engine.item, "codes": codes, "values": [value_at(engine.table, code) for code in codes]}


def _knob(layout: Layout, table: KnobTable) -> dict[str, Any]:
    knob = layout.product.control(table.controls[0])
    assert isinstance(knob, Knob)
    readings = sorted({*_spread(1 << table.adc_bits), *knob.ends})
    # A last code out of the range of codes never stays, so each answer stands alone.
    never = (1 << 16) - 1
    return {
        "name": table.name,
        "item": table.item,
        "ends": list(knob.ends),
        "hysteresis": table.hysteresis,
        "readings": readings,
        "codes": [
            knob_code(table.table, table.adc_bits, knob.ends, table.hysteresis, reading, never)
            for reading in readings
        ],
    }


def _spread(count: int) -> list[int]:
    """All of 0 .. count - 1 where they are few, else both ends, the middle and an even spread."""
    if count <= _ALL_UP_TO:
        return list(range(count))
    last = count - 1
    return sorted({*(i * last // _SAMPLES for i in range(_SAMPLES + 1)), count // 2 - 1, count // 2})
