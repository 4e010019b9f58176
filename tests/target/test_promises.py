"""The promises of the examples, and more of each scope, by direct evaluation of every case: doubles and
Python's own operators on the text as it is written, values from the layout file, presets from the bytes of
the factory image, and for `at noon` what the emitted C makes of the counts of the knobs."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product as every
from pathlib import Path
from typing import Any

import pytest

from paramc.image.factory import factory_image
from paramc.layout.promises import Assessed, assessed
from paramc.numbers.real import to_text
from tests.stories import AT, text_of
from tests.target.chips import host, run_host
from tests.target.emitted import Emitted, emit, layout_of
from tests.target.independent import Reader

MORE = {
    "teasel_pinch": """
promise "m1" at power up is exp(squeeze / 9) + 2 * attack <= 10_000
promise "m2" in every preset is ratio * sqrt(release) - abs(squeeze) <= 10_000
promise "m3" at every position is ratio - detector_gain * unity_level <= 99 vary detector_gain, unity_level
promise "m4" at noon is attack + release / ratio <= 999
""",
    "long_causeway": """
promise "m1" at power up is time * mix <= 1_000_000
promise "m2" in every preset is min(time, 4 * repeats) + max(tilt, -mod_depth) <= 99_999
promise "m3" at every position is sin(mod_rate) * tilt >= -101
promise "m4" at noon is lg(time) * 2^mod_rate + wet_level <= 99
promise "m5" in every preset is mod_depth * subdivision within -1 .. 99
""",
    "hob_and_kiln": """
promise "m1" at power up kiln_gain <= 54 dB
promise "m2" in every preset is hob_on * hob_gain + kiln_on * kiln_gain <= 88
promise "m3" at every position is (hob_bias - 128)^2 * cos(kiln_low) <= 99_999 vary hob_bias
promise "m4" at noon hob_tone within 2100 Hz .. 2300 Hz
""",
}
"""Beside those of the examples: kept, so that there is a layout."""

PROMISE = re.compile(
    r'^promise\s+"(?P<label>[^"]*)"\s+(?P<scope>at noon|in every preset|at power up|at every position)\s+'
    r"(?P<what>is .+?|\w+)\s*(?P<bound><=|>=|within)\s*(?P<number>-?[\d_.]+)[^\n]*?"
    r"(?:\.\.\s*(?P<upper>-?[\d_.]+)[^\n]*?)?(?:vary (?P<vary>[\w, ]+))?$",
    re.MULTILINE | re.DOTALL,
)

FUNCTIONS = {
    "sqrt": math.sqrt, "exp": math.exp, "ln": math.log, "lg": math.log10, "sin": math.sin, "cos": math.cos,
    "tan": math.tan, "min": min, "max": max, "abs": abs,
}  # fmt: skip

READ_KNOB = """
#include "@_product.h"
#include <stdio.h>
int main(void)
{
    @_ends ends = { %u, %u };
    printf("%%u", (unsigned)@_knob_%s(%uu, &ends, @@_FRESH));
    return 0;
}
"""


@dataclass(frozen=True)
class Told:
    """What direct evaluation makes of a promise: how many cases, how many of them with a value, and how far
    the worst of them is inside the bounds."""

    cases: int
    worked_out: int
    spare: float


class Direct:
    """A product as its layout file has it."""

    def __init__(self, emitted: Emitted) -> None:
        self.emitted = emitted
        self.product = emitted.file["product"]
        self.items = {item["name"]: item for item in self.product["items"]}
        self.reader = Reader(emitted.file, factory_image(emitted.layout))

    def value(self, item: dict[str, Any], code: int) -> float | None:
        """The value of a code in the item's own unit; None for off."""
        if item["kind"] == "flag":
            return float(code)
        if item["kind"] == "selector":
            return eval_number(item["ways"][code]["number"]["number"])
        scale = item["scale"]
        if scale["off_at_stop"] and code == 0:
            return None
        first, last = eval_number(scale["first"]), eval_number(scale["last"])
        return first + (last - first) * code / int(scale["codes"] - 1)

    def codes_of(self, item: dict[str, Any]) -> int:
        return {"flag": 2, "selector": len(item.get("ways", ()))}.get(item["kind"]) or item["scale"]["codes"]

    def at_noon(self, name: str) -> int:
        """What the C gives where a knob that sets the item in an open mode stands half way."""
        item = self.items[name]
        sets = [
            one["control"] for mode in self.product["modes"] if mode["enter"] is None
            for one in mode["sets"] if one["item"] == name
        ]
        if not sets:
            return int(item.get("nominal", item.get("default")))
        [knob] = [one for one in self.product["panel"] if one["name"] == sets[0]]
        low, high = knob["ends"]
        program = READ_KNOB % (low, high, name, round((low + high) / 2))
        header = f"{self.emitted.name}.h"
        path = self.emitted.write(f"noon_{name}.c", program.replace("@_product.h", header))
        return int(run_host(host([path, self.emitted.source], [self.emitted.folder])))

    def preset(self, number: int) -> dict[str, int]:
        defaults = {name: item.get("nominal", item.get("default")) for name, item in self.items.items()}
        return defaults | self.reader.codes("presets", number)[1]

    def places(self, scope: str, names: list[str]) -> Iterator[dict[str, list[int]]]:
        """The codes of each item, for each place that a promise of a scope speaks of."""
        nominal = {name: [self.items[name].get("nominal", self.items[name].get("default"))] for name in names}
        anything = nominal | {
            name: list(range(self.codes_of(self.items[name])))
            for name in names if self.items[name]["kind"] != "trim"
        }
        if scope == "at noon":
            yield {name: [self.at_noon(name)] for name in names}
        elif scope == "at every position":
            yield anything
        else:
            slots = self.product["holds"]["preset_slots"]
            first = self.product["first_preset"] - 1
            for number in range(slots) if scope == "in every preset" else [first]:
                codes = self.preset(number)
                yield {name: [codes[name]] for name in names}
            if scope == "at power up" and self.product["wakes_from"] is not None:
                yield anything

    def told(self, text: re.Match[str]) -> Told:
        what = text["what"].removeprefix("is ").strip()
        names = [name for name in self.items if re.search(rf"\b{name}\b", what)]
        varied = {name.strip() for name in (text["vary"] or "").split(",")} - {""}
        work = compile(what.replace("^", "**"), text["label"], "eval")
        cases, spares = 0, []
        for place in self.places(text["scope"], names):
            for name in varied:
                place[name] = self.corners(self.items[name])
            for codes in every(*(place[name] for name in names)):
                cases += 1
                values = [self.value(self.items[name], code) for name, code in zip(names, codes, strict=True)]
                if None in values:
                    continue
                known: dict[str, Any] = {**FUNCTIONS, **dict(zip(names, values, strict=True))}
                number = eval(work, {"__builtins__": {}}, known)
                spares.append(self.spare(text, number))
        single = not text["what"].startswith("is ")
        return Told(cases, cases if single else len(spares), min(spares))

    def corners(self, trim: dict[str, Any]) -> list[int]:
        scale = trim["scale"]
        first, last = eval_number(scale["first"]), eval_number(scale["last"])
        ends = [eval_number(end) for end in trim["plausible"] or (scale["first"], scale["last"])]
        codes = {round((end - first) / (last - first) * (scale["codes"] - 1)) for end in ends}
        return sorted(codes | {trim["nominal"]})

    @staticmethod
    def spare(text: re.Match[str], number: float) -> float:
        bound = float(text["number"].replace("_", ""))
        if text["bound"] == "<=":
            return bound - number
        if text["bound"] == ">=":
            return number - bound
        return min(number - bound, float(text["upper"].replace("_", "")) - number)


def eval_number(text: str) -> float:
    """A number of the layout file: a decimal or a fraction."""
    above, _, below = text.partition("/")
    return float(above) / float(below or 1)


@pytest.mark.slow
@pytest.mark.needs("gcc")
@pytest.mark.parametrize("name", AT)
def test_promises_are_what_every_case_says(name: str, tmp_path: Path) -> None:
    source = text_of(name) + MORE[name]
    emitted = emit(layout_of(source), tmp_path)
    layout, direct = emitted.layout, Direct(emitted)
    texts = list(PROMISE.finditer(source))
    assert [one["label"] for one in texts] == [one.label for one in layout.product.promises]
    assert len(texts) > 5 and {one["scope"] for one in texts} >= {"at noon", "in every preset", "at power up"}
    for text, promise in zip(texts, layout.product.promises, strict=True):
        found = assessed(layout.product, layout.knobs, promise)
        assert isinstance(found, Assessed) and not found.broken and found.spare is not None
        by_hand = direct.told(text)
        assert (found.cases, found.worked_out) == (by_hand.cases, by_hand.worked_out), promise.label
        spare = float(to_text(found.spare, 15))
        assert math.isclose(spare, by_hand.spare, rel_tol=1e-9, abs_tol=1e-9), promise.label
