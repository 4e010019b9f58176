"""Accepted mends."""

from __future__ import annotations

import pytest

from paramc.check.accept import apply_accepts
from paramc.check.example import changed
from paramc.model.product import Accept
from paramc.text.diagnostic import Diagnostic, Rule, Severity
from tests.unit.check.told import checked, only, product_of, told

_FLASH = changed("shows GLOW on", "shows GLOW blinks 5 Hz")

STOP = Rule("some-stop", Severity.STOP, "It stops.", "", "")
MEND = Rule("some-mend", Severity.MEND, "It mends.", "", "")
OTHER = Rule("other-mend", Severity.MEND, "It mends too.", "", "")
CATALOGUE = (STOP, MEND, OTHER)


def _found(rule: Rule, subject: str) -> Diagnostic:
    return Diagnostic(rule, f"Something about {subject}.", subject=subject)


def _left(accepts: list[Accept], *found: Diagnostic) -> list[tuple[str, str]]:
    return [(one.rule.name, one.subject) for one in apply_accepts(accepts, found, CATALOGUE)]


def test_a_mend_that_is_accepted_is_gone() -> None:
    assert _left([Accept("some-mend", "time", "r")], _found(MEND, "time")) == []


def test_without_a_subject_it_is_accepted_everywhere() -> None:
    assert _left([Accept("some-mend", "", "r")], _found(MEND, "time"), _found(MEND, "mode deep")) == []


def test_another_subject_or_rule_is_left() -> None:
    accepts = [Accept("some-mend", "time", "r")]
    assert _left(accepts, _found(MEND, "time"), _found(MEND, "mix"), _found(OTHER, "time")) == [
        ("some-mend", "mix"), ("other-mend", "time"),
    ]


def test_two_accepts_may_meet_one_mend() -> None:
    accepts = [Accept("some-mend", "", "r"), Accept("some-mend", "time", "r")]
    assert _left(accepts, _found(MEND, "time")) == []


def test_one_that_meets_nothing_is_a_mend() -> None:
    accepts = [Accept("some-mend", "mix", "r")]
    assert _left(accepts, _found(MEND, "time")) == [("some-mend", "time"), ("accept-meets-nothing", "mix")]


def test_with_a_stop_nobody_knows_what_it_would_meet() -> None:
    accepts = [Accept("some-mend", "mix", "r")]
    assert _left(accepts, _found(STOP, "time")) == [("some-stop", "time")]


def test_a_stop_is_not_accepted() -> None:
    accepts = [Accept("some-stop", "", "r")]
    assert _left(accepts, _found(STOP, "time")) == [("some-stop", "time"), ("accept-stop", "")]


def test_an_unknown_rule_is_a_stop_with_the_nearest() -> None:
    [found] = apply_accepts([Accept("some-mned", "", "r")], (), CATALOGUE)
    assert (found.rule.name, found.severity, found.try_) == ("accept-unknown", Severity.STOP, "some-mend")


@pytest.mark.parametrize(("written", "subject"), [
    ("", ""), ("for level", "level"), ("for GLOW", "GLOW"), ("for mode deep", "mode deep"),
    ("for preset 2", "preset 2"),
])
def test_what_an_accept_is_for(written: str, subject: str) -> None:
    [accept] = product_of(f'{_FLASH}accept lamp-over-3-hertz {written} because "It is inside."\n').accepts
    assert accept == Accept("lamp-over-3-hertz", subject, "It is inside.")


def test_a_mend_that_the_product_accepts() -> None:
    assert told(_FLASH) == ["lamp-over-3-hertz"]
    assert told(f'{_FLASH}accept lamp-over-3-hertz for GLOW because "It is inside."\n') == []
    assert told(f'{_FLASH}accept lamp-over-3-hertz for OTHER because "It is inside."\n') == [
        "lamp-over-3-hertz", "accept-meets-nothing",
    ]


def test_an_accept_has_a_reason_and_stands_once() -> None:
    accept = 'accept lamp-over-3-hertz because "It is inside."\n'
    assert only(_FLASH + accept.replace("It is inside.", "  ")).rule.name == "accept-without-reason"
    assert only(_FLASH + accept + accept).rule.name == "said-twice"


def test_mends_say_what_accept_is_for() -> None:
    for text, subject in (
        (_FLASH, "GLOW"),
        (changed("adc 10 bits", "adc 8 bits").replace("step 1 %", "step 0.5 %"), "level"),
        (
            changed("press PUSH does bypass", "hold PUSH at power up for 1 s does flip bright")
            + 'flag bright "Bright" { default off }\n',
            "mode main",
        ),
    ):
        assert [found.subject for found in checked(text).diagnostics] == [subject]
