"""The products of the examples, and one with every law: every code of every item, on the chips."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from tests.stories import AT, text_of
from tests.target.chips import CHIPS, Chip, run_avr
from tests.target.curved import CURVES
from tests.target.dump import dump_program, expected
from tests.target.emitted import emit, layout_of

# Twenty-five seconds of that chip: knobs are turned up and down count by count.
AVR_CYCLES = 400_000_000

LEAN = ("-ffunction-sections", "-fdata-sections", "-Wl,--gc-sections")
"""Taps, MIDI and feet stay out of 32 KiB that hold a program which asks for every table."""


@pytest.mark.slow
@pytest.mark.parametrize("name", [*AT, "curves"])
@pytest.mark.parametrize(
    "chip",
    [
        pytest.param(chip, id=chip.name, marks=pytest.mark.needs(*chip.needs))
        for chip in CHIPS
        if chip.name in ("host-gcc", "atmega328p", "cortex-m0")
    ],
)
def test_every_code_of_every_item_is_what_the_layout_file_says(chip: Chip, name: str, tmp_path: Path) -> None:
    text = CURVES if name == "curves" else text_of(name)
    emitted = emit(layout_of(text), tmp_path)
    assert emitted.layout.engines and emitted.layout.knobs
    small = chip.name == "atmega328p"
    program = chip.build(
        [dump_program(emitted, 0), emitted.source], include_dirs=[emitted.folder], extra=LEAN if small else ()
    )
    run = partial(run_avr, cycles=AVR_CYCLES) if small else chip.run
    assert run(program).stdout == expected(emitted, [])
