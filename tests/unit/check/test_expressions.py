"""Engines by an expression: names, arguments, codes without an answer, bounds, and what is proposed."""

from __future__ import annotations

import time
from fractions import Fraction

import pytest

from paramc.check.example import followed_by
from paramc.model.engine import ByExpression, Engine
from paramc.model.expression import written
from paramc.model.items import engine_rounded
from paramc.text.diagnostic import Diagnostic
from tests.unit.check.told import checked, product_of, stops

SHARE = "range 0 % .. 100 %  step 1 %"


def _block(lines: str, engine: str, kind: str = "param") -> str:
    return followed_by(f'{kind} bend "Bend" {{ {lines}  engine {engine} }}')


def wrong(expression: str, lines: str = SHARE, kind: str = "param", form: str = "u16") -> Diagnostic:
    [found] = checked(_block(lines, f"{form} is {expression}", kind)).diagnostics
    assert found.subject == "bend"
    return found


def place(found: Diagnostic) -> str:
    assert found.place is not None
    return found.place.text


def engine(expression: str, lines: str = SHARE, kind: str = "param", form: str = "u16") -> Engine:
    made = product_of(_block(lines, f"{form} is {expression}", kind)).items[-1].engine
    assert made is not None and isinstance(made.conversion, ByExpression)
    return made


@pytest.mark.parametrize("expression", [
    "value", "value + 2", "2 * value^2", "200 - value", "10^(value / 20)", "max(value, 1)^2 / sqrt(2)",
    "1000 * (1 - exp(-value / 40))", "abs(50 - value)", "-(-2)^2 + 4 + value", "min(value, 50, 20) * 1.5",
    "100 + 100 * sin(value) * cos(2 * value)", "tan(value / 100) * 100", "lg(value + 1) * ln(value + 1)",
])  # fmt: skip
def test_what_is_written_is_what_is_read(expression: str) -> None:
    made = engine(expression, form="u32")
    assert isinstance(made.conversion, ByExpression)
    assert written(made.conversion.expression) == expression
    assert (made.tolerance, made.or_nearest) == (None, False)


def test_value_counts_in_the_unit_of_the_range() -> None:
    item = product_of(_block("range 1 s .. 9 s  step 0.5 s", "u16 is value * 10")).items[-1]
    assert [engine_rounded(item, code) for code in (0, 1, 16)] == [10, 15, 90]
    item = product_of(_block("range 9000 ms .. 1000 ms  step 500 ms", "u32 is value * 10")).items[-1]
    assert [engine_rounded(item, code) for code in (0, 1, 16)] == [90_000, 85_000, 10_000]


def test_of_a_selector_it_is_the_number_and_of_a_flag_0_or_1() -> None:
    ways = 'way half "1/2" = 2  way beat "1/4" = 1  way tri "1/3" = 1/3  default beat'
    item = product_of(_block(ways, "u8 is value * 30", "selector")).items[-1]
    assert [engine_rounded(item, code) for code in range(3)] == [60, 30, 10]
    item = product_of(_block("default on", "u8 is 7 + 200 * value", "flag")).items[-1]
    assert [engine_rounded(item, code) for code in range(2)] == [7, 207]
    ways = 'way one "One"  way two "Two"  default one'
    assert wrong("value", ways, "selector").rule.name == "conversion-number"


# ---- names and arguments


@pytest.mark.parametrize(("expression", "rule", "at", "try_"), [
    ("valu * 2", "expression-name", "valu", "value"),
    ("level / 100", "expression-name", "level", "value"),
    ("max(value)", "expression-arguments", "max(value)", "value"),
    ("2 * min(value + 1)", "expression-arguments", "min(value + 1)", "value + 1"),
    ("sqrt(value, 2)", "expression-arguments", "sqrt(value, 2)", "sqrt(value)"),
])  # fmt: skip
def test_what_it_does_not_know(expression: str, rule: str, at: str, try_: str) -> None:
    found = wrong(expression)
    assert (found.rule.name, place(found), found.try_) == (rule, at, try_)


def test_each_unknown_name_is_told() -> None:
    assert stops(_block(SHARE, "u16 is depth * rate + sin(other)")) == ["expression-name"] * 3


@pytest.mark.parametrize(("deep", "rules"), [
    (39, []), (40, ["expression-too-deep"]), (45, ["expression-too-deep"]),
])  # fmt: skip
def test_how_deep_it_may_be(deep: int, rules: list[str]) -> None:
    assert stops(_block(SHARE, "u16 is " + "sqrt(" * deep + "value" + ")" * deep)) == rules


# ---- no answer

SLOWER = "Write an expression that grows more slowly."


@pytest.mark.parametrize(("expression", "rule", "code", "at", "try_"), [
    ("1000 / value", "expression-by-zero", 0, "value", "engine u16 is 1000 / max(value, 1)"),
    ("1 / (value - 50)", "expression-by-zero", 50, "value - 50", "engine u16 is 1 / max(value - 50, 1)"),
    ("value^-2", "expression-by-zero", 0, "value^-2", "engine u16 is max(value, 1)^-2"),
    ("ln(value)", "expression-not-real", 0, "ln(value)", "engine u16 is ln(max(value, 1))"),
    ("lg(60 - value)", "expression-not-real", 60, "lg(60 - value)", "engine u16 is lg(max(60 - value, 1))"),
    ("sqrt(value - 50)", "expression-not-real", 0, "sqrt(value - 50)",
     "engine u16 is sqrt(max(value - 50, 0))"),
    # The range up to the last code that has one is nearer than another expression.
    ("sqrt(50 - value)", "expression-not-real", 51, "sqrt(50 - value)", "range 0 % .. 50 %"),
    ("exp(exp(value))", "expression-too-large", 7, "exp(exp(value))", SLOWER),
    ("9^9^9^9^9 + value", "expression-too-large", 0, "9^9^9^9^9 + value", SLOWER),
])  # fmt: skip
def test_the_first_code_without_an_answer(expression: str, rule: str, code: int, at: str, try_: str) -> None:
    found = wrong(expression)
    assert found.sentence.startswith(f'Code {code} of param "Bend", {code} %, has no engine value: ')
    assert (found.rule.name, place(found), found.try_) == (rule, at, try_)
    if try_ != SLOWER:
        line = try_ if try_.startswith("engine") else f"engine u16 is {expression}"
        lines = try_ + "  step 1 %" if try_.startswith("range") else SHARE
        assert stops(_block(lines, line.removeprefix("engine "))) == []


def test_what_is_off_at_the_stop_is_not_asked() -> None:
    lines = "range -60 dB .. 0 dB  step 1 dB  off at stop"
    assert engine("1000 / (value + 60)", lines)
    found = wrong("1000 / (value + 59)", lines)
    assert found.sentence.startswith('Code 1 of param "Bend", -59 dB, ')
    assert found.try_ == "range -58 dB .. 0 dB"


def test_the_range_that_is_proposed_lies_inside_on_a_coded_grid() -> None:
    found = wrong("1000 / value", "range 0 ms .. 10 ms  coded 8 bits")
    assert found.try_.startswith("range 0.0") and found.try_.endswith(" ms .. 10 ms")
    assert stops(_block(f"{found.try_}  coded 8 bits", "u16 is 1000 / value")) == []


def test_a_way_or_a_flag_without_an_answer() -> None:
    ways = 'way one "One" = 1  way none "None" = 0  default one'
    assert wrong("1 / value", ways, "selector").sentence.startswith('Code 1 of selector "Bend", "None", ')
    assert wrong("1 / value", "default on", "flag").sentence.startswith('Code 0 of flag "Bend", off, ')


# ---- beyond the format, and between its integers


@pytest.mark.parametrize(("expression", "form", "code", "number", "holder"), [
    ("value * 1000", "u16", 66, 66_000, "u32"),
    ("value - 20", "u16", 0, -20, "s16"),
    # It turns back, so neither end is where it leaves the format: 300 at 32 %, and 268 and 0 at the ends.
    ("300 - (value - 30)^2 / 4", "u8", 17, 258, "u16"),
    ("(value - 50)^2 / 2500 * 2", "uq1.15", 0, 65_536, "uq2.14"),
])  # fmt: skip
def test_the_first_code_outside_the_format(
    expression: str, form: str, code: int, number: int, holder: str
) -> None:
    lines = SHARE if "30" not in expression else "range 0 % .. 60 %  step 1 %"
    found = wrong(expression, lines, form=form)
    assert found.rule.name == "engine-overflow"
    assert found.sentence.startswith(f'Code {code} of param "Bend", {code} %, becomes {number}, and ')
    assert found.because == (f"{holder} holds every code.",)
    assert found.try_ == f"engine {holder} is {expression}"


def test_codes_between_two_integers() -> None:
    found = wrong("value / 3 within 0.1 %", form="u8")
    assert found.rule.name == "engine-too-coarse"
    assert found.sentence.startswith("For 67 codes of 101 ")  # all but the multiples of three, from 0 to 99
    assert found.try_ == "engine u8 is value / 3 within 0.1 % or nearest"
    assert stops(_block(SHARE, "u8 is value / 3 within 0.1 % or nearest")) == []
    # At 25 % the number turns back: 0.036 comes of 24.8 % and of 25.2 %, and 0 of the code itself is good.
    assert engine("(value - 25)^2 * 0.9 within 0.2 %", "range 20 % .. 30 %  step 1 %", form="u8")


def test_a_tolerance_that_reaches_what_has_no_answer() -> None:
    # A code's own value alone has to have one.
    made = engine("1000 / (value - 0.5) within 0.5 %", "range 1 % .. 9 %  step 1 %")
    assert made.tolerance is not None and made.tolerance.amount == Fraction(1, 2)


@pytest.mark.slow
@pytest.mark.parametrize("expression", [
    "sin(value) * tan(value)^value * 1000",
    "sin(exp(value))",
    "sin(1000^value) + value",
    "+".join(["exp(value)"] * 100),
    "-" * 400 + "value",
    "value" + "^value" * 18,
    "1 / (value - 99.999)",
])  # fmt: skip
def test_whatever_is_written_ends_soon(expression: str) -> None:
    start = time.monotonic()
    checked(_block("range 0 % .. 100 %  coded 12 bits", f"u8 is {expression}"))
    assert time.monotonic() - start < 20  # seconds; each of these takes one at most
