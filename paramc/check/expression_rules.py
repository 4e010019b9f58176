"""Rules about expressions."""

from __future__ import annotations

from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity


def _bend(expression: str, span: str = "0 % .. 100 %") -> str:
    return followed_by(f'param bend "Bend" {{ range {span}  step 1 %  engine u16 is {expression} }}')


EXPRESSION_NAME = Rule(
    "expression-name",
    Severity.STOP,
    "An expression of an engine knows one name, value, which is the item's own value in the unit that its"
    " range is written in: a number of ms is not divided by 1000 first. A selector's is its way's number, a"
    " flag's 0 or 1. What two items give together is for the firmware to work out.",
    _bend("level / 100"),
    _bend("value / 100"),
)

EXPRESSION_ARGUMENTS = Rule(
    "expression-arguments",
    Severity.STOP,
    "The functions min and max choose among two numbers or more, parted by commas; every other one takes a"
    " single number.",
    _bend("max(value)"),
    _bend("max(value, 1)"),
)

EXPRESSION_TOO_DEEP = Rule(
    "expression-too-deep",
    Severity.STOP,
    "Functions, brackets and signs stand inside each other at most 40 deep. What is deeper cannot be read by"
    " people either, and most often a part of it can be left out.",
    _bend("sqrt(" * 40 + "value" + ")" * 40),
    _bend("sqrt(" * 39 + "value" + ")" * 39),
)

EXPRESSION_BY_ZERO = Rule(
    "expression-by-zero",
    Severity.STOP,
    "For some code of the item its expression divides by zero, which no number comes of. The message names"
    " the first such code. A range that leaves it out helps, or a divisor held away from zero, as in"
    " 100 / max(value, 1).",
    _bend("1000 / value"),
    _bend("1000 / value", "2 % .. 100 %"),
)

EXPRESSION_NOT_REAL = Rule(
    "expression-not-real",
    Severity.STOP,
    "For some code of the item its expression has no answer among real numbers: it takes the square root or"
    " the logarithm of a number that has none, or raises a negative number to a broken power.",
    _bend("100 * ln(value)"),
    _bend("100 * ln(value)", "2 % .. 100 %"),
)

EXPRESSION_TOO_LARGE = Rule(
    "expression-too-large",
    Severity.STOP,
    "For some code of the item its expression grows, on its way or in the end, beyond every number that can"
    " be worked out with certainty. No engine value is that large, so what was meant is another expression.",
    _bend("exp(exp(value))"),
    _bend("exp(value / 10)"),
)

RULES = (
    EXPRESSION_NAME,
    EXPRESSION_ARGUMENTS,
    EXPRESSION_TOO_DEEP,
    EXPRESSION_BY_ZERO,
    EXPRESSION_NOT_REAL,
    EXPRESSION_TOO_LARGE,
)
