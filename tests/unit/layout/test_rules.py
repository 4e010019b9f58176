"""The rules of this floor by their own examples, from source text to diagnostic."""

from __future__ import annotations

import pytest

from paramc.driver import understand
from paramc.layout.earlier import rules as earlier_rules
from paramc.layout.rules import RULES
from paramc.text.diagnostic import Rule, Severity
from paramc.text.source import Source
from tests.released import released


@pytest.mark.parametrize("rule", [*RULES, *earlier_rules.RULES], ids=lambda rule: rule.name)
def test_the_wrong_example_yields_its_rule_and_the_right_one_nothing(rule: Rule) -> None:
    before = released(rule.before)
    wrong = understand(Source("wrong.paramc", rule.wrong), before)
    assert [found.rule for found in wrong.diagnostics] == [rule]
    assert (wrong.value is None) == (rule.severity is Severity.STOP)
    right = understand(Source("right.paramc", rule.right), before)
    assert right.diagnostics == ()
    assert right.value is not None


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_each_diagnostic_stands_at_a_place_of_the_file(rule: Rule) -> None:
    (found,) = understand(Source("wrong.paramc", rule.wrong)).diagnostics
    assert found.place is not None and found.place.text in ("holds", "chip", "level")


@pytest.mark.parametrize("rule", earlier_rules.RULES, ids=lambda rule: rule.name)
def test_a_rule_about_releases_asks_for_them(rule: Rule) -> None:
    (found,) = understand(Source("wrong.paramc", rule.wrong), released(rule.before)).diagnostics
    assert found.place is not None
    assert found.sentence[0].isupper() and found.sentence.endswith(".") and "None" not in found.sentence
    alone = understand(Source("wrong.paramc", rule.wrong)).diagnostics
    assert rule not in [one.rule for one in alone]


def test_a_mend_can_be_accepted_for_its_kind() -> None:
    rule = next(rule for rule in RULES if rule.name == "wear-short")
    accepted = rule.wrong + 'accept wear-short for state because "it is a doorbell"\n'
    assert understand(Source("accepted.paramc", accepted)).diagnostics == ()
