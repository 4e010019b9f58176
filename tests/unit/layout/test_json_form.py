"""The layout file: written, read back, and refused with a sentence whatever else it is given."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from fractions import Fraction
from importlib import resources
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.layout.json_form import LARGEST_FILE, from_json, from_value, layout_value, to_json
from paramc.layout.layout import Layout
from paramc.layout.plan import plan
from paramc.layout.schema import layout_schema, schema_file
from paramc.model.engine import Engine, Phase, Samples, Tolerance
from paramc.model.items import Note, Param, Role, Signal
from paramc.model.modes import Does, Flip, Hold, Jumper, NextPreset, Press, Reset, ResetScope, WhileHeld
from paramc.model.panel import Footswitch
from paramc.model.product import Accept, Product
from paramc.model.scale import Coded, Geometric, Scale
from paramc.numbers.units import SPELLINGS
from paramc.text.source import Source, Span
from tests.unit.layout.anything import products
from tests.unit.layout.products import (
    doorbell,
    form,
    holds,
    knob,
    open_mode,
    param,
    product,
    selector,
    stepped,
    teasel_pinch,
    trim,
)


def laid_out(of: Product, trial: bool = True) -> Layout:
    layout = plan(of, trial=trial).value
    assert layout is not None
    return layout


def everything() -> Product:
    """One of each thing that a layout file can say."""
    source = Source("all.paramc", "all of it")
    items = (
        Param(
            "cutoff",
            "Cut “off”",
            Scale(SPELLINGS["Hz"], Fraction(80), Fraction(12000), Geometric(), Coded(6)),
            3,
            role=Role.RESONANCE,
            engine=Engine(form("u32"), Phase(Fraction(48000)), Tolerance(Fraction(1, 200), True), True),
            notes=(Note(Signal.WARNING, "Loud.\nVery."), Note(Signal.HELP, "Opens up.")),
            place=Span(source, 0, 3),
        ),
        param(
            "gap",
            stepped("ms", "1", "2", "1/3"),
            "1",
            limiter="always on",
            engine=Engine(form("u16"), Samples(Fraction(44100)), Tolerance(Fraction(1, 10))),
        ),
        selector("hold_action", "freeze swell", "freeze"),
        selector("power_on", "engaged bypassed last", "last", kept_once=True),
        trim(
            "bias",
            stepped("mA", "10", "60", "0.5"),
            "30",
            plausible=(Fraction(20), Fraction(40)),
            probe="TP4",
            slope=Fraction(95, 100),
            safe=0,
        ),
    )
    mode = open_mode(
        ("A", "cutoff"),
        does=(
            Does(Press("LEFT"), Flip("night")),
            Does(Hold(("LEFT", "RIGHT"), Fraction(1)), NextPreset(), undoes_press=True),
            Does(Hold(("RIGHT",), Fraction(3, 5)), WhileHeld("hold_action", Fraction(12))),
            Does(Hold(("LEFT",), Fraction(2), True), Reset(ResetScope.LOOK), twice=True),
        ),
    )
    hidden = open_mode(
        ("A", "bias"), name="bench", hidden=True, enter=Jumper("JP2"), leave_after=Fraction(20)
    )
    switches = (Footswitch("LEFT", "Left"), Footswitch("RIGHT", "Right"))
    night = doorbell().item("night")
    return product(
        (*items, night),
        (knob("A", 6, measured=True, turn=Fraction(270)), *switches),
        (mode, hidden),
        wakes_from="power_on",
        hot=("U3",),
        battery=("AA",),
        language="en",
        about="Everything",
        accepts=(Accept("wear-short", "state", "It is a test."),),
        holds=holds(preset_names=9),
    )


EXAMPLES = {"doorbell": doorbell(), "teasel_pinch": teasel_pinch(), "everything": everything()}


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("trial", [True, False])
def test_what_was_written_comes_back(name: str, trial: bool) -> None:
    layout = laid_out(EXAMPLES[name], trial)
    written = to_json(layout)
    read = from_json(written)
    assert read == layout
    assert isinstance(read, Layout) and to_json(read) == written


@settings(max_examples=25, deadline=None)
@given(products())
def test_any_product_comes_back(of: Product) -> None:
    layout = laid_out(of)
    assert from_json(to_json(layout)) == layout


def test_the_file_is_ascii_and_ends_with_one_line_feed() -> None:
    written = to_json(laid_out(everything()))
    assert written.isascii() and b"\r" not in written
    assert written.endswith(b"}\n") and not written.endswith(b"\n\n")
    assert all(line == line.rstrip() for line in written.splitlines())


def test_a_table_stands_on_one_line() -> None:
    written = to_json(laid_out(teasel_pinch())).decode()
    tables = [line for line in written.splitlines() if '"knots": [' in line]
    assert tables and all("]" in line for line in tables)


def test_places_in_the_source_are_left_out() -> None:
    of = everything()
    assert to_json(laid_out(of)) == to_json(laid_out(replace(of, place=Span(Source("x", "x"), 0, 1))))
    assert "span" not in to_json(laid_out(of)).decode()


def test_numbers_are_texts_and_units_their_symbol() -> None:
    value = layout_value(laid_out(everything()))
    scale = value["product"]["items"][1]["scale"]
    assert scale == {
        "unit": "ms",
        "first": "1",
        "last": "2",
        "law": {"kind": "straight"},
        "grid": {"kind": "stepped", "step": "1/3"},
        "off_at_stop": False,
        "codes": 4,
        "each": "1/3",
    }
    assert value["product"]["items"][4]["slope"] == "0.95"


def test_the_checksum_is_said_plainly() -> None:
    assert layout_value(laid_out(doorbell()))["product"]["chip"]["checksum"] == {
        "name": "CRC-16/IBM-3740",
        "width": 16,
        "poly": 0x1021,
        "init": 0xFFFF,
        "reflected": False,
        "xorout": 0,
        "check": 0x29B1,
        "bytes": 2,
        "stored": "high byte first",
        "written": "width 16 poly 0x1021 start 0xFFFF final 0x0000 check 0x29B1",
    }


def test_the_cover_is_said_in_bytes() -> None:
    covers = [
        (record["cover_before"], record["cover_behind"])
        for record in layout_value(laid_out(doorbell()))["records"]
    ]
    assert covers == [("", ""), ("4442", "F05BB91C"), *[("4442", "D5871E8F")] * 3]
    released = layout_value(laid_out(doorbell(), trial=False))
    assert {record["cover_behind"] for record in released["records"]} == {""}


# ---- the schema


def test_the_published_schema_is_the_one_of_the_types() -> None:
    """paramc/layout/layout.schema.json is written by schema_file()."""
    published = resources.files("paramc.layout").joinpath("layout.schema.json").read_bytes()
    assert published == schema_file()


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_is_written_keeps_the_schema(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(layout_schema())
    validator = jsonschema.Draft202012Validator(layout_schema())
    value = json.loads(to_json(laid_out(EXAMPLES[name])))
    assert list(validator.iter_errors(value)) == []
    value["product"]["items"][0]["scale"]["first"] = 20
    assert len(list(validator.iter_errors(value))) > 0


def test_the_schema_knows_every_key_and_takes_no_other() -> None:
    validator = jsonschema.Draft202012Validator(layout_schema())
    value = json.loads(to_json(laid_out(doorbell())))
    for way in (("records", 0), ("product", "chip"), ("product",), ()):
        changed = copy.deepcopy(value)
        part: Any = changed
        for step in way:
            part = part[step]
        part["more"] = 1
        assert not validator.is_valid(changed), way


# ---- files that nobody vouches for


def refused(data: bytes) -> str:
    found = from_json(data)
    assert isinstance(found, str), "taken"
    assert found.endswith(".") and found.isprintable() and found.isascii() and len(found) < 300, found
    return found


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not JSON"),
        (b"{", "not JSON"),
        (b"[1, 2]", "an array, and an object belongs"),
        (b'"layout"', "and an object belongs"),
        (b"\xff\xfe{}", "not UTF-8"),
        (b'{"format": 1e999}', "only whole numbers"),
        (b'{"format": NaN}', "NaN"),
        (b'{"format": -Infinity}', "Infinity"),
        (b'{"format": 1.0}', "1.0"),
        (b'{"format": ' + b"9" * 5000 + b"}", "5000 digits"),
        (b'{"format": 1, "format": 1}', '"format" twice'),
        (b'{"format": 2}', "has format 2, and this paramc reads format 1"),
        (b'{"format": true}', "key"),
        (b"[" * 100_000, "deep"),
        (b'{"a":' * 100_000, "deep"),
        (b'{"\\ud800": 1}', "ud800"),
        (b'{"\x1b[31m": 1}', "not JSON"),
        (b'{"\xc2\x9b31m": 1}', "u009b"),
        (b"\0", "not JSON"),
        (b" " * (LARGEST_FILE + 1), "more than"),
    ],
)
def test_what_is_no_layout_file_gets_a_sentence(data: bytes, words: str) -> None:
    assert words in refused(data)


def test_quotes_without_end_take_no_time() -> None:
    for data in (b'"\\"' * 300_000, b'"' + b"\\" * 600_001, b'{"' + b'\\"' * 300_000):
        refused(data)


def changed(way: str, to: Any, of: Product | None = None) -> bytes:
    """The layout file of the example with one value changed; ... takes the key away."""
    value = layout_value(laid_out(doorbell() if of is None else of))
    *steps, last = [int(step) if step.isdigit() else step for step in way.split(".")]
    part = value
    for step in steps:
        part = part[step]
    if to is ...:
        del part[last]
    else:
        part[last] = to(part[last]) if callable(to) else to
    return json.dumps(value).encode()


PROOF = {"pieces": 1, "worst": "0", "worst_at": 0, "without": [], "costs": []}
ENGINE = {"item": "level", "table": {"kind": "full table", "values": [0]}, "proof": PROOF}


@pytest.mark.parametrize(
    ("way", "to", "words"),
    [
        ("trial", ..., 'lacks the key "trial"'),
        ("product.code", ..., 'product lacks the key "code"'),
        ("records.0.cover_before", ..., 'records[0] lacks the key "cover_before"'),
        ("product.more", 1, 'product has a key "more" that is not known'),
        ("product.code", "17474", "product.code is"),
        ("product.code", True, "product.code is true, and a whole number"),
        ("product.code", 0, "code is outside"),
        ("product.code", 1 << 16, "code is outside"),
        ("product.name", "../../etc/passwd", "name is not a name"),
        ("product.name", "int; evil", "name is not a name"),
        ("product.prefix", "DB", "prefix"),
        ("product.label", "Door\x1bbell", "cannot be shown"),
        ("product.label", "Door\u202ebell", "cannot be shown"),
        ("product.label", None, "product.label is null"),
        ("product.revision", 255, "revision"),
        ("product.hardware", "A", "product.hardware is"),
        ("product.hardware", ["A", "A"], "twice"),
        ("product.wakes", "sleepy", "not one of its words"),
        ("product.wakes_from", "level", "wakes from"),
        ("product.wakes_from", "nothing", "wakes from"),
        ("product.first_preset", 3, "first preset"),
        ("product.chip.size", 0, "size"),
        ("product.chip.size", 1 << 20, "size"),
        ("product.chip.size", 128, "memory's end"),
        ("product.chip.page", 0, "page"),
        ("product.chip.page", 7, "whole pages"),
        ("product.chip.leave_first", 5, "place of identity"),
        ("product.chip.blank", 256, "blank"),
        ("product.chip.hex_at", 1 << 32, "address"),
        ("product.chip.endurance", 0, "endurance"),
        ("product.chip.brown_out", "-1", "brown-out"),
        ("product.chip.order", "middle", "not one of its words"),
        ("product.chip.order", "big", "byte order of bench"),
        ("product.chip.checksum.width", 15, "8, 16, 24 or 32 bits"),
        ("product.chip.checksum.width", 1 << 60, "8, 16, 24 or 32 bits"),
        ("product.chip.checksum.poly", -1, "negative"),
        ("product.chip.checksum.check", 1, "check value"),
        ("product.chip.checksum.bytes", 4, "product.chip.checksum.bytes does not agree"),
        ("product.chip.checksum.stored", "low byte first", "stored does not agree"),
        ("product.holds.preset_slots", 1 << 40, "holds"),
        ("product.holds.preset_slots", 3, "numbers of presets"),
        ("product.holds.identity_copies", 0, "no place"),
        ("product.holds.bench_copies", 0, "bench has no copies"),
        ("product.holds.setup_copies", 0, "setup has no copies"),
        ("product.holds.state_saves", -1, "saves"),
        ("product.holds.if_lost", "shout", "not one of its words"),
        ("product.holds.chosen", ["presets", "setup"], "leaves open"),
        ("product.holds.chosen", ["state", "state"], "leaves open"),
        ("product.holds.chosen", ["look"], "leaves open"),
        ("product.items.0.name", "hum", "twice"),
        ("product.items.0.name", "Level", "name of param 'Level'"),
        ("product.items.0.kind", "knob", "kind"),
        ("product.items.0.kind", ["param"], "kind"),
        ("product.items.0.kind", ..., "kind"),
        ("product.items.0.default", 101, "begins with"),
        ("product.items.0.default", -1, "begins with"),
        ("product.items.0.scale.unit", "furlong", "not one of its words"),
        ("product.items.0.scale.first", "1e3", "a number belongs"),
        ("product.items.0.scale.first", "1/0", "a number belongs"),
        ("product.items.0.scale.first", " 1", "a number belongs"),
        ("product.items.0.scale.first", "9" * 500, "a number belongs"),
        ("product.items.0.scale.first", "٣", "a number belongs"),
        ("product.items.0.scale.first", "100", "one value"),
        ("product.items.0.scale.first", "0.5", "whole steps"),
        ("product.items.0.scale.first", "0.0", "plainest form"),
        ("product.items.0.scale.last", "9" * 300, "more codes"),
        ("product.items.0.scale.grid.step", "0", "whole steps"),
        ("product.items.0.scale.grid.step", "-1", "whole steps"),
        ("product.items.0.scale.codes", 102, "items[0].scale.codes does not agree"),
        ("product.items.0.scale.each", "2", "items[0].scale.each does not agree"),
        ("product.items.1.scale.law.noon", "20", "noon"),
        ("product.items.1.scale.law.noon", "5000", "noon"),
        ("product.items.1.scale.law", {"kind": "geometric", "noon": "1"}, "noon"),
        ("product.items.1.scale.first", "-20", "fingerprint"),
        ("product.items.1.scale.grid.bits", 1, "coded"),
        ("product.items.1.scale.grid.bits", 1 << 50, "coded"),
        ("product.items.1.scale.grid.bits", 6, "fields of presets"),
        ("product.items.2.ways", [], "less than two ways"),
        ("product.items.2.ways.1.name", "low", "twice"),
        ("product.items.2.ways.1.number", None, "numbers of several kinds"),
        ("product.items.2.ways.1.name", "middle", "fingerprint"),
        ("product.items.3.kept_once", False, "3 codes for 4 items"),
        ("product.items.4.safe", 41, "begins with"),
        ("product.items.4.slope", "0", "slope"),
        ("product.items.4.plausible", ["1"], "has 1 entries, not 2"),
        ("product.items.4.plausible", ["2", "1"], "plausible"),
        ("product.panel.0.adc_bits", 1 << 60, "converter"),
        ("product.panel.0.adc_bits", 11, "fields of bench"),
        ("product.panel.0.ends", [5, 5], "equal"),
        ("product.panel.0.ends", [0, 1024], "outside"),
        ("product.panel.0.noise", -1, "noise"),
        ("product.panel.0.noise", 1, "does not agree with its knobs"),
        ("product.panel.0.turn", "0", "turn"),
        ("product.panel.0.name", "loud", "name of control"),
        ("product.panel.1.name", "LOUD", "twice"),
        ("product.panel.1.kind", "organ", "kind"),
        ("product.modes.0.sets.0.item", "nothing", "sets an item"),
        ("product.modes.0.sets.0.control", "NOTHING", "names a control"),
        ("product.modes.0.does.0.gesture.control", "NOTHING", "names a control"),
        ("product.modes.0.does.0.deed", {"kind": "flip", "flag": "level"}, "a deed"),
        ("product.presets.0.number", 3, "not one of the slots"),
        ("product.presets.0.number", 2, "twice"),
        ("product.presets.0.codes", [1], "1 codes for 3 items"),
        ("product.presets.0.codes", [101, 0, 0], "not one of its item's codes"),
        ("product.presets.0.label", "Ding dong", "longer than the bytes"),
        ("product.presets.0.label", "äöüß", "longer than the bytes"),
        ("fingerprint", 0, "fingerprint"),
        ("bench_fingerprint", 1 << 40, "fingerprint"),
        ("revision_byte", 1, "revision_byte does not agree"),
        ("records", [], "kinds of record"),
        ("records.0.kind", "bench", "kinds of record"),
        ("records.0.order", "little", "byte order of identity"),
        ("records.0.places", [], "no place"),
        ("records.0.places", [20, 4], "overlap"),
        ("records.0.places", [4, 19], "overlap"),
        ("records.0.places", [4, 4], "overlap"),
        ("records.0.places", [-20, 4], "begins inside"),
        ("records.1.places", [19, 45], "begins inside"),
        ("records.4.places.3", 250, "memory's end"),
        ("records.4.places.3", 1 << 60, "memory's end"),
        ("records.4.place_bytes", 6, "shorter than its record"),
        ("records.3.numbers", 3, "numbers of presets"),
        ("records.3.places", [66], "too few places"),
        ("records.3.growth", 1, "length of presets"),
        ("records.3.growth", -1, "below zero"),
        ("records.3.length", 15, "place of presets"),
        ("records.3.length", 13, "length of presets"),
        ("records.3.fields.1.bit", 16, "follow one another"),
        ("records.3.fields.1.width", 33, "fields of presets"),
        ("records.3.fields.1.codes", 100, "fields of presets"),
        ("records.3.fields.1.name", "hum", "fields of presets"),
        ("records.3.fields.1.kind", "serial", "fields of presets"),
        ("records.3.fields.1.number", 3, "there twice"),
        ("records.3.fields.1.number", 0, "below 1"),
        ("records.3.fields.1.number", None, "permanent number"),
        ("records.3.fields.0.number", 9, "permanent number"),
        ("records.1.fields.1.number", 9, "under the number of its trim"),
        ("records.3.fields", lambda fields: fields[:-1], "fields of presets"),
        ("records.3.fields", lambda fields: [fields[1], fields[0], *fields[2:]], "follow one another"),
        ("records.3.cover_before", "", "cover_before does not agree"),
        ("records.3.cover_behind", "00000000", "cover_behind does not agree"),
        ("knobs.0.item", "nothing", "not there"),
        ("knobs.0.controls", [], "does not agree"),
        ("knobs.0.controls", ["PUSH"], "does not agree"),
        ("knobs.0.adc_bits", 1 << 50, "does not agree"),
        ("knobs.0.hysteresis", 0, "does not agree"),
        ("knobs.0.name", "a b", "not a name"),
        ("knobs.0.table.entries", 1023, "1023 entries, not 1024"),
        ("knobs.0.table.multiplier", 1 << 31, "32 bits"),
        ("knobs.0.table.multiplier", -1, "32 bits"),
        ("knobs.0.table.shift", 1 << 40, "32 bits"),
        ("knobs.0.table.base", 1, "outside 0 to 100"),
        ("knobs.0.table", {"kind": "full table", "values": [0]}, "1 entries, not 1024"),
        ("knobs.0.table", {"kind": "full table", "values": [101] * 1024}, "outside 0 to 100"),
        ("knobs.0.table", {"kind": "full table", "values": 7}, "an array belongs"),
        ("engines", [ENGINE], "engine tables"),
        ("texts.0.key", "erasing", "one key"),
        ("texts.0.where", ["moon"], "page"),
        ("texts.0.signal", "shout", "not one of its words"),
    ],
)
def test_a_layout_that_does_not_hold_together_gets_a_sentence(way: str, to: Any, words: str) -> None:
    found = refused(changed(way, to))
    assert words.lower() in found.lower(), found


@pytest.mark.parametrize(
    ("way", "to", "words"),
    [
        ("product.items.0.engine.format.bits", 16, "format"),
        ("product.items.0.engine.format.name", "u33", "format"),
        ("product.items.0.engine.conversion.rate", "0", "conversion"),
        ("product.items.0.engine.conversion", {"kind": "gain"}, "conversion"),
        ("product.items.0.engine.conversion", {"kind": "where one", "one": "0"}, "conversion"),
        ("product.items.0.engine.tolerance.amount", "-1", "tolerance"),
        ("product.items.2.engine", lambda _: None, ""),
        ("engines.0.table", {"kind": "full table", "values": [-1] * 63}, "outside 0 to 4294967295"),
        ("engines.0.table", {"kind": "full table", "values": [1, 2]}, "2 entries, not 63"),
        ("engines.1.item", "cutoff", "engine tables"),
        ("product.modes.0.does.2.deed.item", "nothing", "deed"),
        ("product.modes.0.does.1.gesture.controls", ["LEFT", "MIDDLE"], "control"),
        ("product.language", "klingon", "language"),
    ],
)
def test_so_does_one_with_engines_and_gestures(way: str, to: Any, words: str) -> None:
    data = changed(way, to, everything())
    if words:
        assert words in refused(data)
    else:
        assert from_json(data) == laid_out(everything())


VALUES: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**12), 10**12),
    st.sampled_from(["", "0", "1/3", "level", "LOUD", "param", "state", "u16", "dB", "\x00", "\u2028"]),
    st.text(max_size=5),
    st.just([]),
    st.just({}),
)


def _ways(value: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [way, *(found for key, part in parts for found in _ways(part, (*way, key)))]


WHOLE = layout_value(laid_out(everything()))
WAYS = _ways(WHOLE)[1:]
WRITTEN = to_json(laid_out(doorbell()))


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(WAYS), VALUES, st.booleans()), min_size=1, max_size=3))
def test_no_change_of_a_file_makes_it_raise(changes: list[tuple[tuple[Any, ...], Any, bool]]) -> None:
    value = copy.deepcopy(WHOLE)
    for way, to, gone in changes:
        part = value
        try:
            for step in way[:-1]:
                part = part[step]
            if gone:
                del part[way[-1]]
            else:
                part[way[-1]] = to
        except (LookupError, TypeError):
            continue  # an earlier change took the way away
    found = from_value(value)
    assert isinstance(found, str | Layout)
    if isinstance(found, Layout):
        assert layout_value(found) == value


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 4000), st.binary(max_size=3), st.integers(0, 3))
def test_no_flipped_bytes_make_it_raise(at: int, put: bytes, cut: int) -> None:
    found = from_json(WRITTEN[:at] + put + WRITTEN[at + cut :])
    assert isinstance(found, str | Layout)
