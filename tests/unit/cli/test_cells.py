"""Cells that a spreadsheet opens: nothing in them runs, and nothing in them is lost."""

from __future__ import annotations

import csv
import io

import pytest

from paramc.cli.renderers.cells import cell, csv_line


@pytest.mark.parametrize(
    "text",
    [
        "=1+1", "=cmd|'/c calc'!A1", "+1", "-1+1", "-A1", "@SUM(A1)", " =1", "\u00a0=1", "\uff1d1+1",
        "\uff0b1", "\uff0d1", "\uff201", "-", "--1", "-1e5", "-1,5",
    ],
)  # fmt: skip
def test_what_would_run_as_a_formula_is_text(text: str) -> None:
    assert cell(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-3", "-0.15", "0", "12.5", "TP-000101", "", "1-2", "a=b", "'=1"])
def test_numbers_and_plain_text_are_as_they_are(text: str) -> None:
    assert cell(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\t=1", "<U+0009>=1"), ("\r=1", "<U+000D>=1"), ("\n=1", "<U+000A>=1"), ("\x1b[2J", "<U+001B>[2J"),
        ("\u202egnp", "<U+202E>gnp"), ("\ufeff=1", "<U+FEFF>=1"), ("\x00", "<U+0000>"),
    ],
)  # fmt: skip
def test_what_cannot_be_seen_is_named(text: str, shown: str) -> None:
    assert cell(text) == shown


def test_a_line_is_read_back_as_it_was_by_any_reader() -> None:
    cells = ["TP-1", 'say "ah"', "a,b", "two; three", "-0.1", "", "Größe"]
    line = csv_line(cells)
    assert line.endswith(b"\r\n") and line.count(b"\n") == 1
    assert next(csv.reader(io.StringIO(line.decode("utf-8"), newline=""), strict=True)) == cells


def test_no_cell_of_a_line_is_a_formula() -> None:
    line = csv_line(["=1", "x", "@a", "+b", "-c", "\r\n=1"]).decode()
    assert next(csv.reader([line])) == ["'=1", "x", "'@a", "'+b", "'-c", "<U+000D><U+000A>=1"]
