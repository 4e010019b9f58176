"""Diagnostics as they are shown: the words, the marks, the data."""

from __future__ import annotations

import json
from typing import Any

import pydantic
import pytest
from pydantic_sarif import model as sarif_model

from paramc.catalogue import RULES
from paramc.cli.renderers import data, line, sarif, text
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity
from paramc.text.source import Source, Span

RULE = Rule("noon-outside-range", Severity.STOP, "Why.", "wrong", "right")
SOFT = Rule("supply-unsaid", Severity.MEND, "Why.", "wrong", "right")


def product(source: str = "dir/a file.paramc") -> Source:
    lines = ["" for _ in range(39)] + ["  range   0.5 ms .. 80 ms", "\tnoon 90 ms   # here"]
    return Source(source, "\n".join(lines))


def spot(source: Source, words: str) -> Span:
    start = source.text.index(words)
    return Span(source, start, start + len(words))


def example() -> Diagnostic:
    source = product()
    return Diagnostic(
        RULE,
        'The noon of param "Attack", 90 ms, is outside its range, 0.5 ms to 80 ms.',
        spot(source, "90 ms"),
        (Mark(spot(source, "0.5 ms .. 80 ms"), "its range"),),
        try_="noon 8 ms",
    )


def test_text_is_whole_and_marks_the_fault_in_its_line() -> None:
    assert text.one(example()) == (
        "STOP noon-outside-range, in dir/a file.paramc, line 41, column 7\n"
        '  The noon of param "Attack", 90 ms, is outside its range, 0.5 ms to 80 ms.\n'
        "  41   noon >> 90 ms << # here\n"
        "  40   range >> 0.5 ms .. 80 ms <<   its range\n"
        "  Try: noon 8 ms\n"
    )


def test_long_lines_are_cut_around_the_mark() -> None:
    source = Source("x", "a" * 300 + " here " + "b" * 300)
    shown = text.one(Diagnostic(RULE, "Long.", spot(source, "here"))).splitlines()[2]
    assert ">> here <<" in shown
    assert len(shown) < 110


def test_nothing_dangerous_reaches_a_terminal() -> None:
    source = Source("evil\x1b[2J.paramc", "# \x1b]0;owned\x07 \u202e here")
    found = Diagnostic(RULE, "Bell \x07.", spot(source, "here"), try_="\x1b")
    for shown in (text.one(found), line.render([found])):
        assert not any(ord(char) < 32 and char != "\n" for char in shown)
        assert "\u202e" not in shown


def test_line_form() -> None:
    assert line.render([example()]).startswith("dir/a file.paramc:41:7: stop noon-outside-range: The noon")


def test_data_form() -> None:
    value = data.as_data(["a"], [example(), Diagnostic(SOFT, "Say it.")])
    assert (value["stops"], value["mends"]) == (1, 1)
    assert value["diagnostics"][0]["place"]["line"] == 41
    assert value["diagnostics"][0]["place"]["end_column"] == 12
    assert value["diagnostics"][1]["place"] is None
    json.dumps(value)


def valid(log: dict[str, Any]) -> None:
    """Models generated from the OASIS schema of SARIF 2.1.0; they refuse what it does not know."""
    sarif_model.StaticAnalysisResultsFormatSarifVersion210JsonSchema.model_validate(log)


def test_sarif_is_valid() -> None:
    log = sarif.as_sarif((RULE, SOFT), [example(), Diagnostic(SOFT, "Say it.")], "0.1.0")
    valid(log)
    (run,) = log["runs"]
    first, second = run["results"]
    assert first["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "dir/a%20file.paramc"
    assert (first["level"], second["level"]) == ("error", "warning")
    assert run["tool"]["driver"]["rules"][second["ruleIndex"]]["id"] == "supply-unsaid"


def test_sarif_of_the_whole_catalogue_is_valid() -> None:
    valid(sarif.as_sarif(RULES, [], "0.1.0"))


@pytest.mark.parametrize("spoil", ["version", "level", "extra"])
def test_the_check_of_sarif_can_fail(spoil: str) -> None:
    log = sarif.as_sarif((RULE,), [example()], "0.1.0")
    if spoil == "version":
        log["version"] = "2.0"
    elif spoil == "level":
        log["runs"][0]["results"][0]["level"] = "stop"
    else:
        log["runs"][0]["surprise"] = 1
    with pytest.raises(pydantic.ValidationError):
        valid(log)
