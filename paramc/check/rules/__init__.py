"""Mends over a finished product, one file a rule, and every rule of this floor in one tuple."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from paramc.check import (
    accept_rules,
    chip_rules,
    fact_rules,
    history_rules,
    holds_rules,
    item_rules,
    midi_rules,
    mode_rules,
    name_rules,
    panel_rules,
    pedal_rules,
    promise_rules,
    statement_rules,
    tap_rules,
)
from paramc.check.rules import (
    brown_out_unsaid,
    codes_out_of_reach,
    hold_at_power_up_short,
    inside_unsaid,
    lamp_over_3_hertz,
    noon_one_sided,
    single_copy,
    steep_knob,
    supply_unsaid,
    trim_without_safe,
)
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule

CHECKS: tuple[Callable[[Product], Iterator[Diagnostic]], ...] = (
    supply_unsaid.check,
    inside_unsaid.check,
    brown_out_unsaid.check,
    single_copy.check,
    noon_one_sided.check,
    codes_out_of_reach.check,
    steep_knob.check,
    trim_without_safe.check,
    lamp_over_3_hertz.check,
    hold_at_power_up_short.check,
)
"""What is asked of a finished product."""

RULES: tuple[Rule, ...] = (
    *statement_rules.RULES,
    *name_rules.RULES,
    *fact_rules.RULES,
    *chip_rules.RULES,
    *holds_rules.RULES,
    *panel_rules.RULES,
    *item_rules.RULES,
    *mode_rules.RULES,
    *pedal_rules.RULES,
    *tap_rules.RULES,
    *midi_rules.RULES,
    *promise_rules.RULES,
    *history_rules.RULES,
    *accept_rules.RULES,
    supply_unsaid.RULE,
    inside_unsaid.RULE,
    brown_out_unsaid.RULE,
    single_copy.RULE,
    noon_one_sided.RULE,
    codes_out_of_reach.RULE,
    steep_knob.RULE,
    trim_without_safe.RULE,
    lamp_over_3_hertz.RULE,
    hold_at_power_up_short.RULE,
)
"""Every rule of this floor."""
