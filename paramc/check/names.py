"""Names: their form, and that each is given once."""

from __future__ import annotations

import re
from collections.abc import Iterable

from paramc.check.blocks import Blocks
from paramc.check.name_rules import NAME_FORM, NAME_TWICE
from paramc.check.words import called, short
from paramc.numbers.units import SPELLINGS
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

LONGEST = 20
EXPRESSION_WORDS = frozenset(
    {"value", "sqrt", "exp", "ln", "lg", "sin", "cos", "tan", "min", "max", "abs"}
)

_Named = tuple[nodes.Name | nodes.Control, str]
"""A name and what has it, as messages call it."""


def check_names(blocks: Blocks, found: list[Diagnostic]) -> None:
    """The form of every name that the file gives, and names given twice.

    Items have one name space, and so have the controls, the modes and the ways of each selector.
    """
    if blocks.product is not None:
        _space([(blocks.product.name, called("product", blocks.product.label.value))], found)
    _space(((item.name, called(item.kind.text, item.label.value)) for item in blocks.items), found)
    _space(
        (
            (part.control, called(group.kind.text, part.label.value))
            for panel in blocks.panels
            for group in panel.controls
            for part in group.parts
        ),
        found,
    )
    _space(((mode.name, mode_called(mode)) for mode in blocks.modes), found)
    for item in blocks.items:
        ways = (line for line in item.lines if isinstance(line, nodes.Way))
        _space(((way.name, called("way", way.label.value)) for way in ways), found)


def mode_called(mode: nodes.Mode) -> str:
    """How messages call a mode: by its label, or its name where it has none."""
    return called("mode", mode.label.value if mode.label else mode.name.text)


def _space(named: Iterable[_Named], found: list[Diagnostic]) -> None:
    """One name space: every form, and no name twice."""
    first: dict[str, _Named] = {}
    for name, owner in named:
        before = first.setdefault(name.text, (name, owner))
        if before[0] is not name:
            sentence = f"The name {short(name.text)} is given to {before[1]} and again to {owner}."
            also = (Mark(before[0].span, "given here first"),)
            found.append(Diagnostic(NAME_TWICE, sentence, name.span, also))
            continue
        fault = _fault(name.text)
        if fault is not None:
            sentence = f"The name of {owner}, {short(name.text)}, {fault}."
            found.append(Diagnostic(NAME_FORM, sentence, name.span))


def _fault(name: str) -> str | None:
    """What is wrong with a name, to be read after it; None where it is right."""
    if len(name) > LONGEST:
        return f"has {len(name)} characters, and {LONGEST} are the most"
    if name.startswith("_") or name.endswith("_"):
        return "begins or ends with an underscore"
    if re.search("__", name):
        return "has two underscores in a row"
    if name in SPELLINGS and name.islower():
        return "is a unit"
    if name in EXPRESSION_WORDS:
        return "is a word of expressions"
    return None
