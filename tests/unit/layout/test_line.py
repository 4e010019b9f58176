"""Several products together: each rule by its own examples, and what is the line's alone."""

from __future__ import annotations

import pytest

from paramc.check.example import DOORBELL, changed
from paramc.driver import Understood, line, understand
from paramc.layout.line_rules import RULES
from paramc.text.diagnostic import Rule
from paramc.text.source import Source

KNOCKER = changed("code 0x1234", "code 0x4B4E", changed("prefix db", "prefix kn")).replace(
    'doorbell "Doorbell"', 'knocker "Knocker"'
)


def product(name: str, text: str) -> Understood:
    answer = understand(Source(name, text))
    assert answer.value is not None, [found.sentence for found in answer.diagnostics]
    assert answer.diagnostics == ()
    return answer.value


def said(*texts: str) -> list[str]:
    return [found.rule.name for found in line([product(f"{at}.paramc", one) for at, one in enumerate(texts)])]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_the_wrong_example_yields_its_rule_and_the_right_one_nothing(rule: Rule) -> None:
    along = [text for _, text in rule.along]
    assert said(*along, rule.wrong) == [rule.name]
    assert said(*along, rule.right) == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_what_is_said_names_both_products_at_two_places(rule: Rule) -> None:
    products = [product("first.paramc", text) for _, text in rule.along]
    [found] = line([*products, product("second.paramc", rule.wrong)])
    assert found.place is not None and found.place.source.name == "second.paramc"
    assert [mark.span.source.name for mark in found.also] == ["first.paramc"]
    assert '"Doorbell"' in found.sentence and found.sentence.endswith(".")


def test_every_pair_is_told_and_revisions_of_one_product_are_none() -> None:
    third = KNOCKER.replace('knocker "Knocker"', 'buzzer "Buzzer"').replace("prefix kn", "prefix bz")
    assert said(DOORBELL, KNOCKER, third) == ["code-shared"]
    assert said(DOORBELL, DOORBELL.replace("revision 1", "revision 2")) == []


def test_a_mend_of_the_line_is_accepted_by_the_product_it_is_told_of() -> None:
    other = KNOCKER.replace("identity 2 copies", "identity 2 copies  serial 9 characters")
    accept = 'accept identity-differs {} because "it comes from another house"\n'
    assert said(DOORBELL, other) == ["identity-differs"]
    assert said(DOORBELL, other + accept.format("")) == []
    assert said(DOORBELL, other + accept.format("for level")) == ["identity-differs"]
    assert said(DOORBELL + accept.format(""), other) == ["identity-differs"]


def test_addresses_are_compared_where_pages_are_of_one_size() -> None:
    leave = KNOCKER.replace("brown-out 2.7 V", "brown-out 2.7 V  leave first 8 bytes")
    assert said(DOORBELL, leave) == ["identity-differs"]
    paged = KNOCKER.replace("page 1 byte ", "page 32 bytes ").replace("size 256 bytes", "size 1 KiB")
    assert said(DOORBELL, paged.replace("100_000", "1_000_000")) == []


def test_a_gesture_is_known_by_what_is_printed_beside_its_switches() -> None:
    flips = KNOCKER.replace("press PUSH does bypass", "press PUSH does flip bright")
    flips += 'flag bright "Bright" { default off }\n'
    assert said(DOORBELL, flips) == ["gesture-differs"]
    assert said(DOORBELL, flips.replace('PUSH "Push"', 'PUSH "Bright"')) == []
