"""Tables of every form in the layout file: written, read, evaluated from it alone, refused when wrong."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from paramc.layout.fitted import fitted_tables
from paramc.layout.json_form import from_json, to_json
from paramc.layout.layout import Layout
from paramc.layout.plan import plan
from paramc.layout.schema import schema_file
from paramc.model.engine import Engine, Phase, Tolerance
from paramc.model.scale import Coded, Geometric, Scale
from paramc.numbers.units import SPELLINGS
from paramc.tables.choose import Fits
from paramc.tables.forms import AnyTable, Form, form_of, values_of
from paramc.tables.linear import fit_linear
from paramc.tables.tunnel import Tunnel
from tests.target.independent import table_entries, table_value
from tests.unit.layout.products import form, open_mode, param, product

CODES = 1023
every_form = pytest.mark.parametrize("of", list(Form), ids=lambda of: of.value)


@cache
def layout() -> Layout:
    """One item of 1023 codes whose engine value falls, in u32."""
    scale = Scale(SPELLINGS["Hz"], Fraction(12000), Fraction(80), Geometric(), Coded(10))
    engine = Engine(form("u32"), Phase(Fraction(48000)), Tolerance(Fraction(1, 100), True))
    made = plan(product((param("cutoff", scale, engine=engine),), modes=(open_mode(),))).value
    assert made is not None
    return made


@cache
def fits() -> Fits:
    """A falling curve of few bits, which every form but the linear rule can follow."""
    values = [60_000 - k * k // 18 for k in range(CODES)]
    return Fits(Tunnel(tuple(y - 9 for y in values), tuple(y + 9 for y in values)), tuple(values))


@cache
def table(of: Form) -> AnyTable:
    found = fits().table(of)
    if of is Form.LINEAR:
        line = Tunnel.exactly([60_000 - 40 * k for k in range(CODES)])
        found = fit_linear(line, Fits(line, None).survey.certificate)
    assert found is not None and form_of(found) is of
    return found


def with_table(of: Form) -> Layout:
    [engine] = layout().engines
    return replace(layout(), engines=(replace(engine, table=table(of)),))


def changed(of: Form, change: Callable[[dict[str, Any]], None]) -> Layout | str:
    value = json.loads(to_json(with_table(of)))
    change(value["engines"][0]["table"])
    return from_json(json.dumps(value).encode())


@every_form
def test_it_comes_back_equal_and_keeps_the_schema(of: Form) -> None:
    data = to_json(with_table(of))
    assert from_json(data) == with_table(of)
    Draft202012Validator(json.loads(schema_file())).validate(json.loads(data))


@every_form
def test_the_file_alone_gives_every_value(of: Form) -> None:
    told = json.loads(to_json(with_table(of)))["engines"][0]["table"]
    assert table_entries(told) == CODES
    assert tuple(table_value(told, k) for k in range(CODES)) == values_of(table(of))


@every_form
def test_the_fingerprints_do_not_know_tables(of: Form) -> None:
    assert plan(with_table(of).product).value == layout()
    assert with_table(of).fingerprint == layout().fingerprint


def grow(key: str, by: int, at: int = -1) -> Callable[[dict[str, Any]], None]:
    def change(told: dict[str, Any]) -> None:
        told[key][at] += by

    return change


def put(key: str, value: Any) -> Callable[[dict[str, Any]], None]:
    return lambda told: told.update({key: value})


def put_datum(key: str, value: Any) -> Callable[[dict[str, Any]], None]:
    return lambda told: told["datum"].update({key: value})


HOSTILE = [
    (Form.LINEAR, put("multiplier", 1 << 40), "32 bits"),
    (Form.LINEAR, put("entries", 0), "entries"),
    (Form.FULL, put("values", [1, 2]), "2 entries, not 1023"),
    (Form.FULL, put("values", []), "entries"),
    (Form.FULL, grow("values", 1 << 40), "outside 0 to 4294967295"),
    (Form.FULL, grow("values", -(1 << 40)), "outside 0 to 4294967295"),
    (Form.OFFSETS, grow("offsets", 256), "does not fit 8 bits"),
    (Form.OFFSETS, put("bases", []), "do not go together"),
    (Form.OFFSETS, put("spacing", 1 << 50), "are in no table"),
    (Form.OFFSETS, put("offsets", []), "are in no table"),
    (Form.OFFSETS, grow("bases", 1 << 40), "outside 0 to 4294967295"),
    (Form.GRID, put("spacing", -1), "are in no table"),
    (Form.GRID, put("knots", []), "do not go together"),
    (Form.GRID, grow("knots", 1 << 16, 0), "does not fit 16 bits"),
    (Form.GRID, put_datum("shift", 99), "no datum"),
    (Form.GRID, put_datum("width", 64), "no datum"),
    (Form.GRID, put_datum("base", 0), "outside 0 to 4294967295"),
    (Form.BLOCKS, grow("starts", -1), "do not go together"),
    (Form.BLOCKS, put("starts", [0]), "do not go together"),
    (Form.BLOCKS, put("starts", []), "do not go together"),
    (Form.BLOCKS, put("entries", 1 << 30), "are in no table"),
    (Form.WIDE_BLOCKS, put("size", 16), "do not go together"),
    (Form.SEGMENTS, put("slopes", []), "not whole"),
    (Form.SEGMENTS, put("slope_width", 24), "not whole"),
    (Form.SEGMENTS, put("shift", 32), "does not fit 5 bits"),
    (Form.SEGMENTS, grow("starts", 5000), "do not begin"),
    (Form.SEGMENTS, put("entries", 9), "do not begin"),
    (Form.KNOTS, grow("codes", 1), "1024 entries, not 1023"),
    (Form.KNOTS, put("codes", []), "two or more"),
    (Form.KNOTS, put("heights", [0, 9]), "not in order"),
    (Form.KNOTS, grow("codes", -2000, 1), "does not fit 16 bits"),
]


@pytest.mark.parametrize(("of", "change", "words"), HOSTILE)
def test_what_no_chip_could_compute_is_refused(
    of: Form, change: Callable[[dict[str, Any]], None], words: str
) -> None:
    found = changed(of, change)
    assert isinstance(found, str)
    assert words in found, found


def test_a_proof_that_proves_nothing_is_refused() -> None:
    for key, wrong in (("pieces", 0), ("worst", "-1"), ("worst_at", CODES), ("without", [CODES])):
        value = json.loads(to_json(layout()))
        value["engines"][0]["proof"][key] = wrong
        found = from_json(json.dumps(value).encode())
        assert isinstance(found, str) and "proof" in found


def test_what_was_fitted_is_not_fitted_again() -> None:
    known: dict[Any, Fits] = {}
    first = fitted_tables(layout().product, known)
    before = {key: id(fits) for key, fits in known.items()}
    assert fitted_tables(layout().product, known) == first
    assert {key: id(fits) for key, fits in known.items()} == before
