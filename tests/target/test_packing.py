"""Loop or straight lines: the choice is the one that the compilers say, and both pack the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from paramc.emit import packing, source_view
from paramc.emit.layout_rows import Rows, rows_of
from paramc.emit.packing import Packing, packing_of
from tests.faults.campaign import PRODUCTS
from tests.target.chips import CHIPS, arm_object, avr_object, size
from tests.target.emitted import Emitted, emit, layout_of
from tests.target.memories import factory_memory
from tests.target.products import ALL
from tests.target.saving_unit import DEEDS, place, unit

NEAR = 24
"""Bytes on both chips together by which the estimate may be wrong about what is cheaper."""


def either(text: str, straight: bool, folder: Path, monkeypatch: pytest.MonkeyPatch) -> Emitted:
    def forced(rows: Rows) -> Packing:
        return replace(packing_of(rows), straight=straight)

    monkeypatch.setattr(source_view, "packing_of", forced)
    return emit(layout_of(text), folder / str(straight))


def flash(emitted: Emitted) -> tuple[int, int]:
    avr = avr_object(emitted.source, [emitted.folder])
    return size(avr).text, size(arm_object(emitted.source, "cortex-m0", [emitted.folder])).text


@pytest.mark.slow
@pytest.mark.needs("avr-gcc", "arm-gcc")
@pytest.mark.parametrize("product", ["doorbell", "pier_light", "causeway", "pinch"])
def test_the_choice_takes_the_less_flash(
    product: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen = packing_of(rows_of(layout_of(ALL[product])))
    loops, lines = (flash(either(ALL[product], way, tmp_path, monkeypatch)) for way in (False, True))
    said = tuple(b - a for a, b in zip(chosen.loops, chosen.lines, strict=True))
    measured = tuple(b - a for a, b in zip(loops, lines, strict=True))
    print(f"\n{product}: lines take {measured} bytes more than a loop on AVR and Cortex-M0, said {said}")
    assert abs(sum(measured) - sum(said)) <= NEAR
    assert chosen.straight == (sum(said) < 0)
    assert abs(sum(measured)) <= NEAR or chosen.straight == (sum(measured) < 0)


@pytest.mark.parametrize("product", sorted(ALL))
def test_the_less_is_chosen(product: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines would win where the loop took more than they do, on both chips together."""
    rows = rows_of(layout_of(ALL[product]))
    packed = packing_of(rows)
    assert packed.straight == (sum(packed.lines) < sum(packed.loops))
    more = sum(packed.lines) - packing.CORTEX_M0.loop
    for loop, straight in ((more, False), (more + 1, True)):
        monkeypatch.setattr(packing, "AVR", replace(packing.AVR, loop=loop))
        assert packing_of(rows).straight is straight


@pytest.mark.slow
@pytest.mark.needs("gcc")
@pytest.mark.parametrize("product", ["bytes", "pages"])
def test_both_pack_the_same(product: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chip = next(chip for chip in CHIPS if chip.name == "host-gcc")
    memories = []
    for straight in (False, True):
        emitted = either(PRODUCTS[product], straight, tmp_path, monkeypatch)
        it = unit(emitted, chip, "drive_part", "exercise")
        memory, said = it.run(factory_memory(emitted.file), 11, 0, 0, 40, DEEDS.index("ANY"))
        assert [words[1] for words in said[1::2]] == ["0"] * 40
        memories.append(memory)
    assert memories[0] == memories[1] != factory_memory(emitted.file)


OUT_OF_RANGE = """
#include "drive.h"
#include "board.h"

int main(void)
{
    static p_store store;
    p_driver driver;
    p_look look;
    p_answer answer;
    drive(&driver);
    p_open(&store, &driver);
    do {
        answer = p_open_step(&store);
    } while (answer == P_MORE || answer == P_AGAIN);
#if HAS_SETUP
    p_factory_setup(&look);
#endif
    p_factory_state(&look);
    look.level = P_CODES_LEVEL;
    if (p_save_state(&store, &look) != P_RANGE || p_look_ok(&store, &look) != P_ITEM_LEVEL) {
        return 1;
    }
    /* Nothing has begun: nothing goes on, and the next can. */
    look.level = P_CODES_LEVEL - 1u;
    return (p_save_step(&store) != P_SOUND || p_save_state(&store, &look) != P_OK) ? 2 : 0;
}
"""


@pytest.mark.slow
@pytest.mark.needs("gcc")
@pytest.mark.parametrize("straight", [False, True])
def test_a_code_out_of_range_is_refused(
    straight: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    emitted = either(PRODUCTS["bytes"], straight, tmp_path, monkeypatch)
    chip = next(chip for chip in CHIPS if chip.name == "host-gcc")
    it = unit(emitted, chip, "drive_part", place(emitted, "out_of_range.c", OUT_OF_RANGE))
    memory = factory_memory(emitted.file)
    assert it.run(memory) == (memory, [])
