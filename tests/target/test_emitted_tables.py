"""Tables as C computes them: every value of many rules, plain and extreme, on every chip."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

import pytest

from paramc.emit.constants import CType
from paramc.tables.choose import Fits
from paramc.tables.datum import Datum
from paramc.tables.even_grid import EvenGrid
from paramc.tables.fit import fit
from paramc.tables.forms import Form, data_bytes, form_of, value_at, values_of
from paramc.tables.table import FullTable, LinearRule
from paramc.tables.tunnel import Tunnel
from tests.target.chips import Chip, on_every_chip
from tests.target.measured import CHIPS, CORTEX_M0
from tests.target.routines import compared, timed
from tests.target.tables_in_c import Rule, definitions

TYPES = tuple(CType(signed, bits) for signed in (False, True) for bits in (8, 16, 32))
MOST = 2**32 - 1
MIXED = "static uint32_t mixed(uint32_t hash, uint32_t value) { return (hash ^ value) * 16777619u; }"


def ends(result: CType) -> tuple[int, int]:
    low = -(1 << result.bits - 1) if result.signed else 0
    return low, low + (1 << result.bits) - 1


def extreme_rules() -> list[Rule]:
    """Rules at the edges of their types: full ranges both ways, the widest products, shifts, constants."""
    found: list[Rule] = []
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


def random_rules(count: int) -> list[Rule]:
    chance = random.Random(7)
    found: list[Rule] = []
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


def curve(chance: random.Random, kind: str, codes: int) -> list[float]:
    """A curve from 0 to 1 that never falls."""
    bend = chance.uniform(2.0, 40.0)
    share = [k / max(1, codes - 1) for k in range(codes)]
    match kind:
        case "smooth":
            return [(bend**x - 1) / (bend - 1) for x in share]
        case "kinked":
            kink = chance.uniform(0.2, 0.8)
            return [0.1 * x / kink if x < kink else 0.1 + 0.9 * (x - kink) / (1 - kink) for x in share]
        case "steps":
            return [int(x * 5) / 5 for x in share]
        case _:
            assert kind == "late"
            return [0.0 if x < 0.4 else ((x - 0.4) / 0.6) ** 2 for x in share]


def fitted_tables(seed: int = 3) -> list[Rule]:
    """Every form, fitted to curves of every shape, both ways and about zero, in words of every width."""
    chance = random.Random(seed)
    found: list[Rule] = []
    sizes = (2, 10, 129, 256, 257, 400, 1024)
    for kind in ("smooth", "kinked", "steps", "late"):
        for result in TYPES:
            low, high = ends(result)
            for codes in (*sizes, 4096) if kind == "smooth" and not result.signed else sizes:
                span = min(chance.choice([1, 60, 255, 4000, 65535, MOST]), high - low)
                first = chance.choice([low, chance.randint(low, high - span), high - span])
                values = [first + round(y * span) for y in curve(chance, kind, codes)]
                if chance.random() < 0.5:
                    values.reverse()
                width = chance.choice([0, 1, span // 500, span // 60])
                bounds = [(max(low, y - width), min(high, y + width)) for y in values]
                tunnel = Tunnel(tuple(a for a, _ in bounds), tuple(b for _, b in bounds))
                fits = Fits(tunnel, tuple(values))
                for form in chance.sample(list(Form), 2):
                    table = fits.table(form)
                    # What the smallest chip has flash for.
                    if table is not None and data_bytes(table) < 150:
                        found.append((table, result))
    return found


def shifted_tables() -> list[Rule]:
    """Heights of every word that lose any number of places, and codes in runs of any size."""
    found: list[Rule] = []
    for width in (8, 16, 32):
        most = (1 << width) - 1
        for shift in range(width):
            knots = 0, 1, most // 3, most // 2, most - 1, most
            table = EvenGrid(40, Datum(shift, False, width, shift), 3, knots)
            found.append((table, CType(False, max(16, width))))
    datum, result = Datum(65535, True, 16, 3), CType(False, 16)
    for size in range(1, 9):
        for codes in (5 << size, 200):
            knots = tuple(k * 11_003 % 501 + k * 500 for k in range(((codes - 1) >> size) + 2))
            found.append((EvenGrid(codes, datum, size, knots), result))
    return [(table, kind) for table, kind in found if table.entries <= 1280]


def program(rules: Sequence[Rule]) -> str:
    calls = [
        f"    hash = 0u; for (k = 0u; k < {table.entries}u; k++) {{"
        f" hash = mixed(hash, (uint32_t)p_rule_{at}(k)); }}"
        " board_print_u32(hash); board_putchar('\\n');"
        for at, (table, _) in enumerate(rules)
    ]
    main = ["int main(void)", "{", "    uint32_t hash;", "    uint16_t k;", *calls, "    return 0;", "}", ""]
    return "\n".join(['#include "board.h"', definitions(rules), MIXED, *main])


def wanted(rules: Sequence[Rule]) -> str:
    lines = []
    for table, _ in rules:
        number = 0
        for k in range(table.entries):
            number = (number ^ value_at(table, k) % 2**32) * 16777619 % 2**32
        lines.append(f"{number}\n")
    return "".join(lines)


def all_rules() -> list[Rule]:
    return extreme_rules() + random_rules(60) + fitted_tables() + shifted_tables()


@pytest.mark.slow
def test_the_rules_are_of_every_form_and_stay_in_their_types() -> None:
    rules = all_rules()
    forms = {(form_of(table), result.signed) for table, result in rules}
    assert len(forms) == 2 * len(Form)
    for table, result in rules:
        low, high = ends(result)
        assert all(low <= value <= high for value in values_of(table)), (table, result)


@pytest.mark.slow
@on_every_chip
def test_every_chip_computes_what_the_model_computes(chip: Chip, tmp_path: Path) -> None:
    rules = all_rules()
    # As many at once as the smallest chip has flash for.
    parts = 3 if chip.name == "atmega328p" else 1
    for part in range(parts):
        source = tmp_path / "tables.c"
        source.write_text(program(rules[part::parts]), encoding="utf-8")
        assert chip.run(chip.build([source])).stdout == wanted(rules[part::parts])


def test_a_wrong_knot_is_seen() -> None:
    tables = [one for one in fitted_tables() if form_of(one[0]) is Form.FULL]
    table, result = next((table, result) for table, result in tables if isinstance(table, FullTable))
    other = FullTable((*table.values[:-1], table.values[-1] ^ 1))
    assert wanted([(table, result)]) != wanted([(other, result)])


@pytest.mark.slow
@pytest.mark.needs("avr-gcc", "arm-gcc")
@pytest.mark.parametrize("on", CHIPS)
def test_what_choosing_reckons_with_is_what_compilers_make(on: str) -> None:
    """Loose, since compilers differ: a third more or less, or the bytes of a few instructions."""
    found = compared(on)
    assert len(found) > 40 and sum(measured is not None for _, _, measured in found) >= 15
    far = [one for one in found if one[2] is not None and abs(one[1] - one[2]) > max(18, one[2] // 3)]
    assert far == []


@pytest.mark.slow
@pytest.mark.needs("avr-gcc", "simavr", "arm-gcc", "qemu")
@pytest.mark.parametrize("on", CHIPS)
def test_the_time_that_choosing_reckons_with_is_what_chips_take(on: str) -> None:
    """Within a sixth. What is divided by on a Cortex-M0 changes its time too much to be reckoned with."""
    found = [one for one in timed(on) if not (on == CORTEX_M0 and "free knots" in one[0])]
    far = [one for one in found if abs(one[1] - one[2]) > max(13, one[2] / 6)]
    assert len(found) > 60 and far == []
