"""A memory read out of a chip, made whole at the desk, and put back: the firmware then answers sound and has
its own trims."""

from __future__ import annotations

from pathlib import Path

import pytest

from paramc.image.files import Chunk, Form
from paramc.image.memory import UnitAnswer
from paramc.image.reading import Loaded
from paramc.image.recognise import AtHand, Recognised, recognise
from paramc.image.restore import Fate, Restored, Wish, restore_contents
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind
from tests.stories import REVISIONS, story
from tests.target.chips import CHIPS, Chip, on_every_chip
from tests.target.dump import dump_program, expected
from tests.target.emitted import emit
from tests.target.independent import Reader
from tests.target.saving_unit import DEEDS, heard, owned, unit

AVR_EEPROM = 1024
AT_HAND = [AtHand(one.layout.product.name, one.layout, True) for of in REVISIONS for one in story(of)]


def recognised(dump: bytes) -> Recognised:
    found = recognise(Loaded(Form.RAW, (Chunk(0, dump),), ()), AT_HAND)
    assert isinstance(found, Recognised)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("name", ["teasel_pinch", "hob_and_kiln"])
@on_every_chip
def test_a_repaired_memory_is_whole_on_the_chip(chip: Chip, name: str, tmp_path: Path) -> None:
    layout = story(name)[-1].layout
    emitted = emit(layout, tmp_path / name)
    trims = tuple((trim.name, trim.codes // 3) for trim in layout.product.trims)
    stamped = stamp_image(layout, Unit("AB-000042", max(layout.product.boards), trims))
    assert len(stamped) <= AVR_EEPROM
    damaged = bytearray(stamped)
    presets = layout.record(Kind.PRESETS)
    assert presets is not None
    damaged[presets.places[2] + 3] ^= 0x5A
    damaged[layout.records[0].places[0] + 5] ^= 0x5A
    sources = [dump_program(emitted, 1, tables=False), emitted.source]
    program = chip.build(sources, include_dirs=[emitted.folder])
    first = chip.run(program, eeprom=bytes(damaged))
    assert first.stdout == expected(emitted, [bytes(damaged)], tables=False)
    assert Reader(emitted.file, bytes(damaged)).unit() == "damaged"
    # What is read out of the chip is all that the desk has.
    dump = first.eeprom_after[: len(stamped)]
    found = recognised(dump)
    assert found.chosen.contents.answer is UnitAnswer.DAMAGED
    made = restore_contents(found.chosen.contents, found.chosen.candidate.memory.data, Wish())
    assert isinstance(made, Restored) and made.presets.count(Fate.FACTORY) == 1
    # The lost preset was the factory's, so the very image of the bench comes back.
    assert made.image == stamped
    second = chip.run(program, eeprom=made.image)
    assert second.stdout == expected(emitted, [made.image], tables=False)
    assert Reader(emitted.file, made.image).unit() == "sound"


@pytest.mark.slow
@pytest.mark.needs("avr-gcc", "simavr")
def test_what_the_firmware_saved_goes_through_the_desk_and_back(tmp_path: Path) -> None:
    """A unit is played and saves, a preset is spoilt; repaired, it plays the rest and has its trims."""
    layout = story("teasel_pinch")[-1].layout
    emitted = emit(layout, tmp_path)
    trims = tuple((trim.name, trim.codes // 3) for trim in layout.product.trims)
    stamped = stamp_image(layout, Unit("AB-000042", max(layout.product.boards), trims))
    avr = next(chip for chip in CHIPS if chip.name == "atmega328p")
    saver = unit(emitted, avr, "drive_eeprom", "exercise")
    dump, _ = saver.run(stamped, 5, 0, 0, 30, DEEDS.index("ANY"))
    saved, new = heard(emitted.file, dump), heard(emitted.file, stamped)
    played = [slot for kind, slot in saved if kind == "presets" and saved[kind, slot] != new[kind, slot]]
    assert len(played) > 1 and owned(emitted.file, dump) == owned(emitted.file, stamped)
    spoilt = bytearray(dump)
    presets = layout.record(Kind.PRESETS)
    assert presets is not None
    for place in presets.places:
        if bytes(spoilt) == dump:
            tried = bytearray(dump)
            tried[place + presets.length // 2] ^= 0x5A
            now = heard(emitted.file, bytes(tried))
            if now["presets", played[0]] != saved["presets", played[0]]:
                spoilt = tried
    found = recognised(bytes(spoilt))
    assert found.chosen.contents.answer is UnitAnswer.DAMAGED
    made = restore_contents(found.chosen.contents, found.chosen.candidate.memory.data, Wish())
    assert isinstance(made, Restored)
    lost = [slot for slot, fate in enumerate(made.presets) if fate is Fate.FACTORY]
    assert lost == played[:1]
    sources = [dump_program(emitted, 1, tables=False), emitted.source]
    program = avr.build(sources, include_dirs=[emitted.folder])
    again = avr.run(program, eeprom=made.image)
    assert again.stdout == expected(emitted, [made.image], tables=False)
    assert Reader(emitted.file, made.image).unit() == "sound"
    saved["presets", played[0]] = new["presets", played[0]]
    assert heard(emitted.file, made.image) == saved
    assert owned(emitted.file, made.image) == owned(emitted.file, stamped)
