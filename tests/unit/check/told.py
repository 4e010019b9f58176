"""What the check stage says of a text, for its tests."""

from __future__ import annotations

from paramc.check.accept import apply_accepts
from paramc.check.check import check
from paramc.check.rules import CHECKS, OF_KNOBS, RULES
from paramc.model.product import Product
from paramc.syntax.parse import parse
from paramc.text.diagnostic import Checked, Diagnostic, Severity, in_reading_order
from paramc.text.source import Source


def checked(text: str) -> Checked[Product]:
    """The product of a text that can be read, and everything that was found."""
    module = parse(Source("test.paramc", text))
    assert module.value is not None, [found.sentence for found in module.diagnostics]
    answer = check(module.value)
    if answer.value is None:
        return answer
    left = apply_accepts(answer.value.accepts, answer.diagnostics, RULES)
    return Checked(answer.value, in_reading_order(left))


def product_of(text: str) -> Product:
    """The product of a text without stops."""
    answer = checked(text)
    assert answer.value is not None, [found.sentence for found in answer.diagnostics]
    return answer.value


def told(text: str) -> list[str]:
    """The names of the rules that were met, in reading order."""
    return [found.rule.name for found in checked(text).diagnostics]


def stops(text: str) -> list[str]:
    """The same, stops only."""
    return [
        found.rule.name for found in checked(text).diagnostics if found.severity is Severity.STOP
    ]


def read(text: str) -> list[str]:
    """What `told` says but for what is asked of a finished product."""
    of_finished = {check.__module__.rpartition(".")[2].replace("_", "-") for check in (*CHECKS, *OF_KNOBS)}
    return [name for name in told(text) if name not in of_finished]


def only(text: str) -> Diagnostic:
    """The one diagnostic of a text."""
    [found] = checked(text).diagnostics
    return found
