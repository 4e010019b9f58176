"""Tables as functions in C, without a product around them, in the very text that a product's C has."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.emit.constants import CType, Names
from paramc.emit.evaluators import evaluators
from paramc.emit.expressions import evaluation
from paramc.emit.templating import TEMPLATES, environment
from paramc.tables.costs import routines_of
from paramc.tables.forms import AnyTable

Rule = tuple[AnyTable, CType]
"""A table and the type of its values."""


def definitions(rules: Sequence[Rule], linkage: str = "static ") -> str:
    """p_rule_0, p_rule_1 ... from uint16_t to the types of the rules, and all that they need."""
    shared = evaluators(routine for table, _ in rules for routine in routines_of(table))
    called = environment("p").get_template("evaluators.c.j2").render(v={"evaluators": shared})
    lines = ["#include <stdint.h>", environment("p").get_template("port.c.j2").render(v=None), called]
    functions = []
    for at, (table, result) in enumerate(rules):
        made = evaluation(table, result, Names("p", "values", str(at), "Values", "one a code"))
        for constants in made.constants:
            lines.append(f"static const {constants.type} P_FLASH {constants.name}[] = {{")
            lines += [*constants.lines, "};"]
        functions += [
            f"{linkage}{result.name} p_rule_{at}(uint16_t k);",
            f"{linkage}{result.name} p_rule_{at}(uint16_t k)\n{{\n    return {made.expression};\n}}",
        ]
    if any("p_signed(" in line for line in functions):
        lines.append(_signed())
    return "\n".join([*lines, *functions, ""])


def _signed() -> str:
    """p_signed, as the template has it."""
    text = (TEMPLATES / "tables.c.j2").read_text(encoding="utf-8")
    start = text.index("/* The number that its 32 bits")
    return text[start : text.index("{% endif %}", start)]
