"""Tables as a C program that prints what it computes for every code: the second road to each form's model."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import assert_never

from paramc.tables.blocks import Blocks
from paramc.tables.datum import Datum
from paramc.tables.even_grid import EvenGrid
from paramc.tables.forms import AnyTable
from paramc.tables.free_knots import FreeKnots
from paramc.tables.offset_table import OffsetTable
from paramc.tables.segments import FreeSegments
from paramc.tables.table import FullTable, LinearRule

EVALUATORS = Path(__file__).with_name("evaluators.h")

_HEAD = "#include <inttypes.h>\n#include <stdint.h>\n#include <stdio.h>\n"
_STRICT = ["-std=c99", "-O1", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Wsign-conversion"]
_CHECKED = ["-Werror", "-Wno-unused-function", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"]


def computed_in_c(tables: Sequence[AnyTable], folder: Path) -> list[list[int]]:
    """What a program made of these tables computes for every code of each."""
    (folder / "evaluators.h").write_text(EVALUATORS.read_text(encoding="utf-8"), encoding="utf-8")
    source = folder / "tables.c"
    source.write_text(_program(tables), encoding="utf-8")
    program = folder / "tables"
    subprocess.run(["gcc", *_STRICT, *_CHECKED, "-o", str(program), str(source)], check=True)
    printed = subprocess.run([str(program)], check=True, capture_output=True, text=True).stdout
    return [[int(word) for word in line.split()] for line in printed.splitlines()]


def _program(tables: Sequence[AnyTable]) -> str:
    widths = "".join(
        f"#define W {width}\n#define T uint{width}_t\n#define WIDE uint{max(16, width)}_t\n"
        f"#define P(name) name##{width}\n#include \"evaluators.h\"\n"
        "#undef W\n#undef T\n#undef WIDE\n#undef P\n"
        for width in (8, 16, 32)
    )
    functions = "".join(_function(table, at) for at, table in enumerate(tables))
    calls = "".join(
        f"    for (k = 0; k < {table.entries}u; k++) printf(\"%\" PRId64 \" \", at_{at}((uint16_t)k));\n"
        "    printf(\"\\n\");\n"
        for at, table in enumerate(tables)
    )
    return f"{_HEAD}{widths}{functions}int main(void)\n{{\n    uint32_t k;\n{calls}    return 0;\n}}\n"


def _function(table: AnyTable, at: int) -> str:
    constants, value = _value(table, at)
    return f"{constants}static int64_t at_{at}(uint16_t k)\n{{\n    return {value};\n}}\n"


def _value(table: AnyTable, at: int) -> tuple[str, str]:
    """The constants of a table, and its value at k."""
    match table:
        case LinearRule(_, base, falling, multiplier, offset, shift):
            change = f"(int64_t)(((uint32_t)k * {multiplier}u + {offset}u) >> {shift})"
            return "", f"INT64_C({base}) {'-' if falling else '+'} {change}"
        case FullTable(values):
            return _array("int64_t", f"full_{at}", values), f"full_{at}[k]"
        case OffsetTable(bases, offsets, spacing):
            constants = _array("int64_t", f"bases_{at}", bases) + _array("uint8_t", f"offsets_{at}", offsets)
            return constants, f"bases_{at}[k >> {spacing}] + offsets_{at}[k]"
        case EvenGrid(_, datum, spacing, knots):
            place = f"k << {8 - spacing}" if spacing <= 8 else f"k >> {spacing - 8}"
            height = f"grid{datum.width}(knots_{at}, (uint16_t)({place}))"
            return _array(_word(datum), f"knots_{at}", knots), _above(datum, height)
        case Blocks(_, datum, size, starts, knots):
            constants = _array(_word(datum), f"knots_{at}", knots) + _array("uint8_t", f"starts_{at}", starts)
            if size > 8:
                height = f"wide_blocks{datum.width}(knots_{at}, starts_{at}, {size}, k)"
            else:
                height = f"blocks{datum.width}(knots_{at}, starts_{at}, (uint16_t)(k << {8 - size}))"
            return constants, _above(datum, height)
        case FreeSegments(_, datum, starts, bases, slopes, _, shift):
            rows = [f"{{{a}u, {b}u, {c}u}}" for a, b, c in zip(starts, bases, slopes, strict=True)]
            constants = _array(f"segment{datum.width}", f"rows_{at}", rows)
            name = "short_segments" if table.product_width == 16 and datum.width <= 16 else "segments"
            return constants, _above(datum, f"{name}{datum.width}(&rows_{at}[{len(rows) - 1}], {shift}, k)")
        case FreeKnots(datum, codes, heights):
            rows = [f"{{{code}u, {height}u}}" for code, height in zip(codes, heights, strict=True)]
            constants = _array(f"knot{datum.width}", f"rows_{at}", rows)
            return constants, _above(datum, f"knots{datum.width}(&rows_{at}[{len(rows) - 2}], k)")
        case other:
            assert_never(other)


def _above(datum: Datum, height: str) -> str:
    way = f">> {datum.shift}" if datum.shift >= 0 else f"<< {-datum.shift}"
    return f"INT64_C({datum.base}) {'-' if datum.falling else '+'} (int64_t)((uint32_t){height} {way})"


def _word(datum: Datum) -> str:
    return f"uint{datum.width}_t"


def _array(kind: str, name: str, values: Sequence[int | str]) -> str:
    return f"static const {kind} {name}[{len(values)}] = {{{', '.join(map(str, values))}}};\n"
