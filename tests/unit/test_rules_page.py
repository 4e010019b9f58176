"""grammar/RULES.md is what the rules say of themselves, and the pages lead there."""

from __future__ import annotations

import re

from paramc.catalogue import RULES
from tests.unit.pages import TOP, fences, page
from tests.unit.rules_page import rules_page

PAGE = TOP / "grammar" / "RULES.md"


def test_the_page_is_what_the_rules_say(update: bool) -> None:
    made = rules_page(RULES)
    if update:
        PAGE.write_text(made, encoding="utf-8")
    assert made == PAGE.read_text(encoding="utf-8")


def test_each_rule_has_a_section_with_lines_of_both_files() -> None:
    text = page("grammar/RULES.md")
    assert re.findall(r"^## (\S+)$", text, re.MULTILINE) == sorted(rule.name for rule in RULES)
    found = list(fences(text))
    assert [fence.heading for fence in found] == sorted(rule.name for rule in RULES)
    for fence in found:
        assert {line[:1] for line in fence.text.splitlines()} <= {"+", "-", "."}
        assert re.search(r"^[-+]", fence.text, re.MULTILINE), fence.heading


def test_pages_lead_there() -> None:
    assert "(grammar/RULES.md)" in page("README.md")
    assert "(RULES.md)" in page("grammar/LANGUAGE.md")
