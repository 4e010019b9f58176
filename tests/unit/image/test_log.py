"""Lines of the ship record, and what a ledger makes of them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from paramc.image import log
from paramc.image.ledger import Ledger
from paramc.image.log import Attempt, Entry, LoggedTrim, Reserved, Run, read_line

RUN = Run("Ada", 2, "teasel_pinch", "0x5450", 2, "AB" * 32)
TIME = "2026-03-01T08:00:00.000Z"
TRIMS = (LoggedTrim("vca_null", "-3", True, False),)
MADE = log.attempt_of(TIME, RUN, "TP-1", 1, "A", TRIMS, "CD" * 32, "teasel_pinch.TP-1.hex")
FAILED = log.failure_of(TIME, RUN, None, 1, 'Line 4: "\x07" is no serial.')


def schema() -> Any:
    return json.loads(Path(log.__file__).with_name("log.schema.json").read_bytes())


def line(entry: Entry) -> bytes:
    return log.line_of(entry).removesuffix(b"\n")


def reserved(*serials: str, code: str = "0x5450") -> list[Reserved]:
    run = Run(None, None, "x", code, 1, "AB" * 32)
    found = [read_line(one.rstrip(b"\n")) for one in log.reservation(TIME, run, iter(serials))]
    assert all(isinstance(one, Reserved) for one in found)
    return [one for one in found if isinstance(one, Reserved)]


def test_the_published_schema_is_the_one_of_the_code_and_a_schema() -> None:
    assert Path(log.__file__).with_name("log.schema.json").read_bytes() == log.schema_file()
    Draft202012Validator.check_schema(schema())
    assert schema()["$schema"].endswith("2020-12/schema")
    assert schema()["$id"] == f"urn:paramc:log:{log.FORMAT}"


@pytest.mark.parametrize("entry", [MADE, FAILED, *reserved("TP-1", "TP-2")])
def test_a_line_comes_back_and_is_as_the_schema_has_it(entry: Entry) -> None:
    assert read_line(line(entry)) == entry
    Draft202012Validator(schema()).validate(json.loads(line(entry)))
    assert line(entry).isascii() and b"\n" not in line(entry)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"TP-1"', '"../x"'),
        ('"serial":"TP-1"', '"serial":null'),
        ('"attempt":1', '"attempt":0'),
        ('"attempt":1', '"attempt":1.5'),
        (TIME, "yesterday"),
        ("AB" * 32, "AB"),
        ("CD" * 32, "nonsense"),
        ('"reason":""', '"reason":"","more":1'),
    ],
)
def test_what_the_reader_refuses_the_schema_mostly_refuses_too(old: str, new: str) -> None:
    text = line(MADE).decode().replace(old, new)
    assert text != line(MADE).decode()
    assert isinstance(read_line(text.encode()), str)
    if "null" not in new:
        assert not Draft202012Validator(schema()).is_valid(json.loads(text))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"[]", "neither a reservation nor an attempt"),
        (line(MADE).replace(b'"format":1', b'"format":2'), "another format than 1"),
        (line(MADE).replace(b'"attempt":1', b'"attempt":NaN'), "NaN"),
        (line(MADE).replace(b'"attempt":1', b'"attempt":' + b"9" * 400), "400 digits"),
        (line(MADE).replace(b'"file"', b'"image"'), "twice"),
        (b'{"format":1,"kind":' + b"[" * 10_000 + b"]" * 10_000 + b"}", "deep"),
        (b"x" * (log.LONGEST_LINE + 1), "more than"),
    ],
)
def test_hostile_lines_are_told(data: bytes, words: str) -> None:
    said = read_line(data)
    assert isinstance(said, str) and words in said


def test_every_cut_of_a_line_is_known_for_one_and_hides_nothing_behind_it() -> None:
    whole = line(MADE)
    for end in range(len(whole)):
        assert read_line(whole[:end]) is None
        assert read_line(whole[:end] + line(FAILED)) == FAILED


@settings(max_examples=200)
@given(st.binary(max_size=60))
def test_no_bytes_raise(data: bytes) -> None:
    read_line(data)
    read_line(line(MADE)[:100] + data)


def test_a_reservation_of_many_takes_several_lines() -> None:
    found = reserved(*(f"TP-{at}" for at in range(1200)))
    assert [len(one.serials) for one in found] == [500, 500, 200]


def made(number: int, time: str, code: str = "0x5450", serial: str = "TP-1") -> Attempt:
    run = Run(None, None, "x", code, 1, "AB" * 32)
    return log.attempt_of(time, run, serial, number, None, (), "CD" * 32, "f")


def test_a_ledger_takes_the_last_attempt_in_whatever_order() -> None:
    later = "2026-03-01T09:00:00.000Z"
    entries = [made(1, later), made(2, TIME), made(2, later), log.failure_of(later, RUN, "TP-1", 3, "No.")]
    for order in (entries, entries[::-1]):
        ledger = Ledger("0x5450", {"TP-1"})
        for offset, entry in enumerate(order):
            ledger.note(1000 + offset, entry)
        assert ledger.attempts("TP-1") == 3
        assert ledger.last_made("TP-1") == 1000 + order.index(entries[2])


def test_a_ledger_knows_whose_a_serial_is_and_what_waits() -> None:
    ledger = Ledger("0x5450", {"TP-1", "TP-2", "TP-3"})
    for at, entry in enumerate([*reserved("TP-1", "TP-8", "TP-9"), *reserved("TP-2", code="0x0001")]):
        ledger.note(at, entry)
    ledger.note(9, made(1, TIME, serial="TP-9"))
    ledger.note(10, log.failure_of(TIME, Run(None, None, "y", "0x0001", 1, "AB" * 32), "TP-1", 1, "No."))
    assert [ledger.knows(serial) for serial in ("TP-1", "TP-2", "TP-3")] == [True, True, False]
    assert ledger.is_of_another_product("TP-2") and not ledger.is_of_another_product("TP-1")
    assert (ledger.attempts("TP-1"), ledger.last_made("TP-1"), ledger.last_made("TP-2")) == (0, None, None)
    assert ledger.waiting == ("TP-8",)
