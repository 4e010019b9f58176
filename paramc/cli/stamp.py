"""`paramc stamp`: one image a unit, with its serial, board revision and trims."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

from paramc.cli import say
from paramc.cli.files import Output, Trouble, read_bytes, write_all
from paramc.cli.images import FORMS, image_file
from paramc.cli.layouts import cautions, cautions_data, released_layout
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.image import batch
from paramc.image.batch import Batch, Listed, Mistake
from paramc.image.codes import code_text
from paramc.image.stamp import stamp_images
from paramc.layout.layout import Layout

FORMAT = 1
"""The number of the form of the data."""

LARGEST_RUN = 256 << 20
"""Bytes of all files of one run: they are made in memory first, so that all or none are written."""


def run(release: str, list_path: str, folder: str, ending: str, *, force: bool, as_json: bool) -> int:
    """Exit status: 0 where every unit of the list was stamped, else 1; the good units are written."""
    try:
        layout = released_layout(release)
        answer = batch.read_batch(layout, read_bytes(list_path, batch.LARGEST))
        if isinstance(answer, Mistake):
            raise Trouble(f"{plain(list_path)}: {plain(answer.sentence)} Nothing was stamped.")
        outputs = _outputs(layout, answer.listed, ending)
        if outputs:
            write_all(folder, outputs, f".{layout.product.name}.stamped", force=force)
    except Trouble as trouble:
        if as_json:
            say.data({"format": FORMAT, "problems": [str(trouble)]})
        say.person(str(trouble))
        return 1
    if as_json:
        say.data(_data(layout, answer, outputs))
    else:
        say.out(*_text(layout, answer, outputs, folder))
    return 1 if answer.failed else 0


def _outputs(layout: Layout, listed: Sequence[Listed], ending: str) -> list[Output]:
    outputs: list[Output] = []
    for one, image in zip(listed, stamp_images(layout, [one.unit for one in listed]), strict=True):
        name = f"{layout.product.name}.{one.unit.serial}.{ending}"
        outputs.append(Output(name, image_file(layout, image, FORMS[ending])))
        most = LARGEST_RUN // len(outputs[0].data)
        if len(listed) > most:
            raise Trouble(f"The list has {len(listed)} units, and one run makes {most} images of this size.")
    return outputs


def _hardware(layout: Layout, one: Listed) -> str:
    return "" if one.unit.hardware is None else layout.product.boards[one.unit.hardware]


def _data(layout: Layout, answer: Batch, outputs: Sequence[Output]) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "problems": [],
        "product": layout.product.name,
        "revision": layout.product.revision,
        "fingerprint": f"{layout.fingerprint:08X}",
        "stamped": [
            {
                "line": one.line,
                "serial": one.unit.serial,
                "hardware": _hardware(layout, one) or None,
                "trims": _trims(layout, one),
                "file": output.name,
                "sha256": hashlib.sha256(output.data).hexdigest(),
            }
            for one, output in zip(answer.listed, outputs, strict=True)
        ],
        "failed": [
            {
                "line": failed.mistake.line,
                "serial": failed.serial,
                "column": failed.mistake.column,
                "cell": failed.mistake.cell,
                "sentence": failed.mistake.sentence,
            }
            for failed in answer.failed
        ],
        "texts": cautions_data(layout, "stamp"),
    }


def _trims(layout: Layout, one: Listed) -> list[dict[str, Any]]:
    measured = dict(one.unit.trims)
    return [
        {
            "item": trim.name,
            "value": code_text(trim, measured.get(trim.name, trim.nominal)),
            "measured": trim.name in measured,
        }
        for trim in layout.product.trims
    ]


def _text(layout: Layout, answer: Batch, outputs: Sequence[Output], folder: str) -> list[str]:
    total = len(answer.listed) + len(answer.failed)
    product = layout.product
    lines = [*cautions(layout, "stamp"), "", f"{plain(product.label)}, revision {product.revision}."]
    if outputs:
        rows = [
            (one.unit.serial, _hardware(layout, one) or "-", _measured(layout, one), output.name)
            for one, output in zip(answer.listed, outputs, strict=True)
        ]
        lines += ["", f"Written to {plain(folder)}:", ""]
        lines += table(("serial", "hardware", "measured trims", "file"), rows, "llll")
    if answer.failed:
        lines += ["", "Not stamped:", ""]
        lines += [f"  {plain(failed.mistake.sentence)}" for failed in answer.failed]
    result = f"{'FAIL' if answer.failed else 'PASS'}: {len(answer.listed)} of {total} units stamped"
    return [*lines, "", f"{result}, {len(answer.failed)} failed."]


def _measured(layout: Layout, one: Listed) -> str:
    """The trims that were given, with the values that are stored."""
    texts = (f"{name} {code_text(layout.product.item(name), code)}" for name, code in one.unit.trims)
    return ", ".join(texts) or "none, all nominal"
