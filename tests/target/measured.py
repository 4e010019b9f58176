"""What functions from codes to integers take on a chip: flash, RAM, and the time of each evaluation."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import mean

from tests.target.chips import arm, arm_object, avr, avr_object, run_arm, run_avr, size, symbol_sizes

AVR, CORTEX_M0 = "ATmega328P", "Cortex-M0"
CHIPS = (AVR, CORTEX_M0)

_BARE = {
    AVR: ("avr-gcc", "-Os", "-mmcu=atmega328p", "-std=c99", "-ffunction-sections", "-Wl,--gc-sections"),
    CORTEX_M0: (
        "arm-none-eabi-gcc", "-Os", "-mthumb", "-mcpu=cortex-m0", "-std=c99", "-ffunction-sections",
        "-Wl,--gc-sections", "--specs=nosys.specs", "-Wl,-e,main", "-nostartfiles",
    ),
}  # fmt: skip
_MOST_MARKS = {AVR: 4096, CORTEX_M0: 512}


@dataclass(frozen=True, slots=True)
class Taken:
    """flash, ram: bytes of the functions with all that they call, the compiler's library too. mean, worst: of
    one evaluation, call and return in it: cycles on AVR, instructions on Cortex-M."""

    flash: int
    ram: int
    mean: float
    worst: int


def taken(chip: str, text: str, calls: Sequence[tuple[str, int]]) -> Taken:
    """What C takes that defines functions of uint16_t. calls: their names, and how many codes each has."""
    flash, ram = _linked(chip, text, [name for name, _ in calls])
    times = _times(chip, text, calls)
    return Taken(flash, ram, mean(times), max(times))


def functions_of(chip: str, text: str) -> dict[str, int]:
    """The bytes of each function and constant of a source."""
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "functions.c"
        source.write_text(text, encoding="utf-8")
        return symbol_sizes(avr_object(source) if chip == AVR else arm_object(source, "cortex-m0"))


def _linked(chip: str, text: str, names: Sequence[str]) -> tuple[int, int]:
    """What a program gets larger by when it calls all of them."""

    def sizes(text: str, calls: Sequence[str]) -> tuple[int, int]:
        body = "".join(f"    sink = (uint32_t){call}((uint16_t)sink);\n" for call in calls)
        main = f"volatile uint32_t sink;\nint main(void)\n{{\n{body}    return 0;\n}}\n"
        with tempfile.TemporaryDirectory() as folder:
            source, program = Path(folder) / "program.c", Path(folder) / "program"
            source.write_text(f"#include <stdint.h>\n{text}\n{main}", encoding="utf-8")
            command = [*_BARE[chip], str(source), "-lm", "-o", str(program)]
            subprocess.run(command, check=True, capture_output=True)
            found = size(program)
        return found.text + found.data, found.data + found.bss

    none = "uint16_t none(uint16_t k);\n__attribute__((noinline)) uint16_t none(uint16_t k) { return k; }"
    flash, ram = sizes(text, names)
    flash_of_none, ram_of_none = sizes(none, ["none"] * len(names))
    # What the linker pads sections with may come out less.
    return flash - flash_of_none, max(0, ram - ram_of_none)


def _times(chip: str, text: str, calls: Sequence[tuple[str, int]]) -> list[int]:
    """The time of every evaluation, or of so many spread evenly as can be marked in one run."""
    each = (_MOST_MARKS[chip] // 2 - 8) // len(calls)
    body = []
    for name, codes in calls:
        stride = -(-codes // each)
        body.append(
            f"    for (k = 0u; k < {codes}u; k = (uint16_t)(k + {stride}u)) {{\n"
            f"        at = k; board_mark(1u); sink = (uint32_t){name}(at); board_mark(2u);\n    }}"
        )
    main = "\n".join([
        "static volatile uint32_t sink;", "static volatile uint16_t at;",
        "int main(void)", "{", "    uint16_t k;",
        "    at = 0u; board_mark(1u); sink = (uint32_t)at; board_mark(2u);", *body, "    return 0;", "}", "",
    ])  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "times.c"
        source.write_text(f'#include "board.h"\n{text}\n{main}', encoding="utf-8")
        # The library stands before the source and has to be told what that will ask for.
        library = ["-Wl,-u,powf", "-lm"] if "powf(" in text else []
        if chip == AVR:
            marks = run_avr(avr([source], extra=library)).marks
        else:
            marks = run_arm(arm([source], "cortex-m0", extra=library), "cortex-m0").marks
    ways = [other.at - one.at for one, other in zip(marks[::2], marks[1::2], strict=True)]
    return [way - ways[0] for way in ways[1:]]
