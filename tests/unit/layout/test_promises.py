"""Promises against the plain evaluation of every code, in numbers of another kind."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from math import isclose, sin

import pytest

from paramc.driver import understand
from paramc.layout.layout import Layout
from paramc.layout.promise_rules import RULES
from paramc.layout.promises import Assessed, assessed
from paramc.numbers.real import Real, to_text
from paramc.text.diagnostic import Rule
from paramc.text.source import Source

_FILE = """\
product doorbell "Doorbell" {{
  code 0x1234  prefix db  revision 1  wakes {wakes}
  supply 9 V dc centre negative 20 mA  inside low voltage
}}
chip {{ size 512 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V }}
holds {{ identity 2 copies  bench 2 copies  presets 3 slots spare 1  state 4 copies }}
panel {{ knob LOUD "Loud" {{ adc 10 bits }}  footswitch PUSH "Push" }}
param level "Level" {{ range 0 % .. 100 %  step 1 %  noon 30 % }}
param boost "Boost" {{ range -20 dB .. 10 dB  step 0.5 dB  default 0 dB  off at stop }}
trim gain "Gain" {{ range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB  plausible -1.5 dB .. 1.7 dB  safe -3 dB }}
mode main {{ LOUD sets level  press PUSH does bypass }}
preset 1 "One" {{ level 90 %  boost -3 dB }}
preset 2 "Two" {{ level 40 %  boost off }}
promise "it" {promise}
"""


def _layout(promise: str, wakes: str = "bypassed") -> Layout:
    # Bounds are put in afterwards where a case is to be broken, since a stop leaves no layout.
    answer = understand(Source("test.paramc", _FILE.format(promise=promise, wakes=wakes)))
    assert answer.value is not None, [one.sentence for one in answer.diagnostics]
    return answer.value.layout


def _assessed(promise: str, wakes: str = "bypassed") -> Assessed:
    layout = _layout(promise, wakes)
    found = assessed(layout.product, layout.knobs, layout.product.promises[0])
    assert isinstance(found, Assessed)
    return found


def _rules(promise: str, wakes: str = "bypassed") -> list[str]:
    text = _FILE.format(promise=promise, wakes=wakes)
    return [one.rule.name for one in understand(Source("test.paramc", text)).diagnostics]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_examples(rule: Rule) -> None:
    assert [one.rule for one in understand(Source("wrong.paramc", rule.wrong)).diagnostics] == [rule]
    assert understand(Source("right.paramc", rule.right)).diagnostics == ()


@pytest.mark.parametrize(("expression", "value"), [
    ("level * 10^(boost / 20)", lambda level, boost: level * 10 ** (boost / 20)),
    ("sin(level / 10) * boost", lambda level, boost: sin(level / 10) * boost),
    ("(level - 50)^2 - boost", lambda level, boost: (level - 50) ** 2 - boost),
])
def test_every_position_against_every_code(expression: str, value: Callable[[float, float], float]) -> None:
    found = _assessed(f"at every position is {expression} <= 10_000")
    # boost has no value at its stop; its first code is one step above the range's first end.
    numbers = [value(level, -20 + boost / 2) for level, boost in product(range(101), range(1, 61))]
    assert (found.cases, found.worked_out) == (101 * 61, 101 * 60)
    assert found.off == ("at a position",)
    assert found.spare is not None and found.number is not None
    assert isclose(float(_decimal(found.number)), max(numbers), rel_tol=1e-9)


def _decimal(number: Real) -> Fraction:
    return number if isinstance(number, Fraction) else Fraction(to_text(number, 15))


def test_trims_at_both_plausible_ends_and_nominal_in_every_slot() -> None:
    found = _assessed("in every preset is level / 100 * 10^(gain / 20) <= 2 vary gain")
    assert found.cases == found.worked_out == 9
    assert found.number is not None
    assert isclose(float(_decimal(found.number)), 0.9 * 10 ** (1.7 / 20), rel_tol=1e-9)
    assert found.worst is not None and found.worst.where == 'in preset 1 "One"'


def test_an_empty_slot_is_at_the_defaults() -> None:
    found = _assessed("in every preset level >= 30 %")
    assert (found.number, found.spare, found.cases) == (30, 0, 3)
    assert found.worst is not None and found.worst.where == "in preset 3, which is empty"
    assert _rules("in every preset level >= 31 %") == ["promise-broken"]


def test_off_lies_below_every_level() -> None:
    assert _rules("in every preset boost <= 0 dB") == []
    assert _rules("in every preset boost >= -20 dB") == ["promise-broken"]
    assert _rules("in every preset boost within -20 dB .. 10 dB") == ["promise-broken"]


def test_an_expression_is_not_checked_where_an_item_is_off_and_says_so() -> None:
    found = _assessed("in every preset is boost + level <= 100")
    assert found.off == ('in preset 2 "Two"',)
    assert (found.cases, found.worked_out) == (3, 2)


def test_power_up_is_every_code_where_the_unit_wakes_as_it_was() -> None:
    assert _rules("at power up level <= 90 %") == []
    assert _rules("at power up level <= 90 %", "as it was") == ["promise-broken"]


@pytest.mark.parametrize(("bound", "rules"), [
    ("<= 100 %", []), ("<= 99.999 %", ["promise-broken"]), (">= 0 %", []), (">= 0.001 %", ["promise-broken"]),
])
def test_a_bound_belongs_to_what_is_promised(bound: str, rules: list[str]) -> None:
    assert _rules(f"at every position level {bound}") == rules


def test_an_irrational_bound_is_settled_exactly() -> None:
    # 10^(1.7 / 20) is 1.21618600064636..., by Python's decimal with 20 digits.
    assert _rules("in every preset is 10^(gain / 20) <= 1.2161860007 vary gain") == []
    assert _rules("in every preset is 10^(gain / 20) <= 1.2161860006 vary gain") == ["promise-broken"]


def test_noon_goes_through_the_table() -> None:
    found = _assessed("at noon level within 29 % .. 31 %")
    assert (found.number, found.spare) == (30, 1)
