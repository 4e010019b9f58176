"""Tables as C computes them: every value of many rules, plain and extreme, on every chip."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from paramc.emit.expressions import CType, evaluation
from paramc.emit.templating import TEMPLATES, environment
from paramc.tables.fit import fit
from paramc.tables.table import FullTable, LinearRule, Table, evaluate
from tests.target.chips import Chip, on_every_chip

TYPES = tuple(CType(signed, bits) for signed in (False, True) for bits in (8, 16, 32))
MOST = 2**32 - 1
MIXED = "static uint32_t mixed(uint32_t hash, uint32_t value) { return (hash ^ value) * 16777619u; }"


def ends(result: CType) -> tuple[int, int]:
    low = -(1 << result.bits - 1) if result.signed else 0
    return low, low + (1 << result.bits) - 1


def extreme_rules() -> list[tuple[Table, CType]]:
    """Rules at the edges of their types: full ranges both ways, the widest products, shifts, constants."""
    found: list[tuple[Table, CType]] = []
    for result in TYPES:
        low, high = ends(result)
        for entries in (2, 3, 5, 17):
            step = (high - low) // (entries - 1)
            up = [low + k * step for k in range(entries)]
            found += [(fit(up), result), (fit([high - k * step for k in range(entries)]), result)]
            found += [(FullTable(tuple(up)), result), (FullTable((low, high, *up)), result)]
        found += [(fit([value]), result) for value in (low, high)]
        found += [(fit([value, value]), result) for value in (low, high, (low + high) // 2)]
    for shift in (0, 1, 8, 15, 16, 17, 24):
        found.append((LinearRule(300, 0, False, MOST // 299, 0, shift), CType(False, 32)))
        found.append((LinearRule(300, -(2**31), False, MOST // 299, 0, shift), CType(True, 32)))
        found.append((LinearRule(300, 2**31 - 1, True, MOST // 299, 0, shift), CType(True, 32)))
        # What 16 bits of an int would lose: a product just below 2^16, and just above.
        found.append((LinearRule(257, 7, False, 255, 255, shift), CType(False, 32)))
        found.append((LinearRule(258, 7, False, 255, 1, shift), CType(False, 32)))
        found.append((LinearRule(200, 65535, False, 200, 3, shift), CType(False, 32)))
        found.append((LinearRule(200, -32768, False, 200, 3, shift), CType(True, 16)))
        found.append((LinearRule(120, 32767, True, 500, 9, shift), CType(True, 16)))
    return found


def random_rules(count: int) -> list[tuple[Table, CType]]:
    chance = random.Random(7)
    found: list[tuple[Table, CType]] = []
    while len(found) < count:
        result = chance.choice(TYPES)
        low, high = ends(result)
        first, last = (chance.randint(low, high) for _ in range(2))
        entries = chance.choice([2, 3, 10, 101, 128])
        found.append((fit([first + (last - first) * k // (entries - 1) for k in range(entries)]), result))
        # A curve that no line follows, so that it is a table of any width.
        scatter = min(chance.choice([1, 100, 40_000, MOST]), high - low)
        base = chance.randint(low, high - scatter)
        if chance.random() < 0.2:
            found.append((FullTable(tuple(base + chance.randint(0, scatter) for _ in range(9))), result))
    return found


def program(rules: list[tuple[Table, CType]]) -> str:
    port = environment("p").get_template("port.c.j2").render(v=None)
    lines = ['#include "board.h"', "#include <stdint.h>", port, helper(), MIXED]
    calls = []
    for at, (table, result) in enumerate(rules):
        made = evaluation(table, result, "p", f"p_values_{at}", "")
        for constants in made.constants:
            lines.append(f"static const {constants.type} P_FLASH {constants.name}[] = {{")
            lines += [*constants.lines, "};"]
        lines.append(f"static {result.name} p_rule_{at}(uint16_t k) {{ return {made.expression}; }}")
        calls.append(
            f"    hash = 0u; for (k = 0u; k < {table.entries}u; k++) {{"
            f" hash = mixed(hash, (uint32_t)p_rule_{at}(k)); }}"
            " board_print_u32(hash); board_putchar('\\n');"
        )
    lines += [
        "int main(void)",
        "{",
        "    uint32_t hash;",
        "    uint16_t k;",
        *calls,
        "    return 0;",
        "}",
        "",
    ]
    return "\n".join(lines)


def helper() -> str:
    """p_signed, as the template has it."""
    text = (TEMPLATES / "tables.c.j2").read_text(encoding="utf-8")
    start = text.index("/* The number that its 32 bits")
    return text[start : text.index("{% endif %}", start)]


def wanted(rules: list[tuple[Table, CType]]) -> str:
    lines = []
    for table, _ in rules:
        number = 0
        for k in range(table.entries):
            number = (number ^ evaluate(table, k) % 2**32) * 16777619 % 2**32
        lines.append(f"{number}\n")
    return "".join(lines)


def test_the_rules_stay_in_their_types() -> None:
    rules = extreme_rules() + random_rules(60)
    forms = {(type(table), result.signed, result.bits) for table, result in rules}
    assert len(forms) == 2 * len(TYPES)
    for table, result in rules:
        low, high = ends(result)
        assert all(low <= evaluate(table, k) <= high for k in range(table.entries)), (table, result)


@pytest.mark.slow
@on_every_chip
def test_every_chip_computes_what_the_model_computes(chip: Chip, tmp_path: Path) -> None:
    rules = extreme_rules() + random_rules(60)
    source = tmp_path / "tables.c"
    source.write_text(program(rules), encoding="utf-8")
    assert chip.run(chip.build([source])).stdout == wanted(rules)
