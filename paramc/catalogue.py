"""Every rule that paramc knows, in the order in which a source meets them."""

from __future__ import annotations

from paramc.check import rules as check_rules
from paramc.layout import line_rules, promise_rules
from paramc.layout import rules as layout_rules
from paramc.layout.earlier import rules as earlier_rules
from paramc.syntax import borrow_rules
from paramc.syntax import rules as syntax_rules
from paramc.text.diagnostic import Rule

RULES: tuple[Rule, ...] = (
    *syntax_rules.RULES,
    *borrow_rules.RULES,
    *check_rules.RULES,
    *layout_rules.RULES,
    *promise_rules.RULES,
    *earlier_rules.RULES,
    *line_rules.RULES,
)
