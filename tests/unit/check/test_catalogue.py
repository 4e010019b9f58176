"""Every rule of the floor: its wrong example yields it and no other stop, its right one yields no stop."""

from __future__ import annotations

import re

import pytest

from paramc.check.example import DOORBELL, changed
from paramc.check.rules import CHECKS, OF_KNOBS, RULES
from paramc.text.diagnostic import Rule, Severity
from tests.unit.check.told import checked, stops, told

_named = pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)


@_named
def test_the_wrong_example_yields_the_rule_and_no_other_stop(rule: Rule) -> None:
    found = checked(rule.wrong).diagnostics
    assert rule.name in {one.rule.name for one in found}
    assert {one.rule.name for one in found if one.severity is Severity.STOP} <= {rule.name}


@_named
def test_the_right_example_yields_no_stop_and_not_the_rule(rule: Rule) -> None:
    assert stops(rule.right) == []
    assert rule.name not in told(rule.right)


@_named
def test_the_explanation_is_whole_sentences(rule: Rule) -> None:
    assert rule.explanation[0].isupper() or rule.explanation[0] == "`"
    assert rule.explanation.endswith(".")
    assert "  " not in rule.explanation


@_named
def test_what_is_said_is_a_whole_sentence_with_a_place(rule: Rule) -> None:
    for one in checked(rule.wrong).diagnostics:
        assert re.fullmatch(r"[A-Z0-9$\"].*\.", one.sentence, re.DOTALL), one.sentence
        assert one.place is not None
        assert "None" not in one.sentence


def test_names_are_hyphenated_words_and_each_stands_once() -> None:
    names = [rule.name for rule in RULES]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", name) for name in names)


def test_every_mend_over_a_product_is_in_the_catalogue() -> None:
    checks = (*CHECKS, *OF_KNOBS)
    modules = {check.__module__ for check in checks}
    assert len(modules) == len(checks)
    for module in modules:
        assert module.rpartition(".")[2].replace("_", "-") in {rule.name for rule in RULES}


def test_the_example_is_free_of_stops_and_mends() -> None:
    assert told(DOORBELL) == []


def test_an_example_that_is_not_there_is_our_own_mistake() -> None:
    with pytest.raises(ValueError, match="stands 0 times"):
        changed("no such words", "")
