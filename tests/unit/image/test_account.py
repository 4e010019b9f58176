"""What a memory says, as data: its published form, and the values in it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator, ValidationError

import paramc.image
from paramc.image.account import Account, account, account_schema, account_value, refusal_value, schema_file
from paramc.image.factory import factory_image
from paramc.image.memory import Answer, read_memory
from paramc.image.source import preset_blocks
from paramc.layout.layout import Kind
from tests.stories import text_of
from tests.unit.image.layouts import GRAVEL_WEIR, NAMES, every_layout, example, gravel_weir, planned
from tests.unit.image.test_memory import Memory

PINCH = "teasel_pinch"


def said(memory: Memory) -> Account:
    answer = account(memory.read())
    Draft202012Validator(account_schema()).validate(account_value(answer))
    return answer


def test_the_published_schema_is_a_schema_and_the_one_that_the_code_keeps() -> None:
    Draft202012Validator.check_schema(account_schema())
    [file] = paramc.image.__path__
    assert (Path(file) / "decode.schema.json").read_bytes() == schema_file()


def test_the_schema_takes_what_is_said_and_nothing_else() -> None:
    validator = Draft202012Validator(account_schema())
    for layout in every_layout():
        value = account_value(account(read_memory(layout, factory_image(layout))))
        validator.validate(value)
        assert json.loads(json.dumps(value)) == value
        for changed in ({**value, "format": 2}, {**value, "more": 1}, {**value, "answer": "good"}):
            with pytest.raises(ValidationError):
                validator.validate(changed)
    validator.validate(refusal_value(("The dump is blank.",)))
    with pytest.raises(ValidationError):
        validator.validate(refusal_value(()))


def test_values_that_differ_from_factory_are_marked() -> None:
    memory = Memory(example(PINCH))
    memory.write(Kind.PRESETS, 1, number=1, counter=2, attack=700, tone=2)
    preset = said(memory).presets[1]
    assert (preset.number, preset.answer, preset.factory_label) == (2, Answer.SOUND, "Barely there")
    marked = {value.item: (value.value, value.factory) for value in preset.values if value.differs}
    assert marked == {"attack": ("70.5 ms", "20 ms"), "tone": ("bright", "plain")}
    tone = next(value for value in preset.values if value.item == "tone")
    assert (tone.label, tone.meaning, tone.code) == ("Tone", "Bright", 2)


def test_a_code_out_of_use_is_said_and_plays_as_the_default() -> None:
    memory = Memory(example(PINCH))
    memory.write(Kind.PRESETS, 1, number=1, counter=2, tone=3, level=255)
    values = {value.item: value for value in said(memory).presets[1].values}
    assert (values["tone"].value, values["tone"].code, values["tone"].in_use) == ("plain", 3, False)
    assert (values["level"].value, values["level"].in_use, values["level"].differs) == ("0 dB", False, True)
    assert values["attack"].in_use


def test_trims_are_measured_or_nominal_plausible_or_not() -> None:
    memory = Memory(gravel_weir())
    for place in range(3):
        memory.write(Kind.BENCH, place, bias=10, bias_measured=1, depth_low=9, depth_measured=1)
    bench = said(memory).bench
    assert bench is not None
    assert [(trim.item, trim.value, trim.measured, trim.plausible) for trim in bench.trims] == [
        ("bias", "90", True, False),
        ("offset", "0 mV", False, True),
    ]
    assert [(end.control, end.low, end.high, end.measured) for end in bench.ends] == [
        ("DEPTH", 9, 251, True),
        ("SPEED", 4, 251, False),
    ]


def test_names_identity_and_state() -> None:
    memory = Memory(gravel_weir())
    for place in range(2):
        memory.write(Kind.IDENTITY, place, hardware=1, serial=int.from_bytes(b"W-77\0\0", "big"))
    memory.write(Kind.STATE, 0, counter=2, last_preset=4, engaged=1)
    answer = said(memory)
    assert (answer.identity.serial, answer.identity.hardware) == ("W-77", "B2")
    assert (answer.state.last_preset, answer.state.engaged) == (5, True)
    assert [preset.name for preset in answer.presets] == ["Low water", "\u00dcbergang", "", "Spring tide", ""]
    memory.write(Kind.STATE, 0, counter=3, last_preset=7)
    for place in range(2):
        memory.write(Kind.IDENTITY, place, hardware=9)
    assert said(memory).state.last_preset is None
    assert said(memory).identity.hardware == "number 9, which is not known"


def test_what_is_lost_has_no_values() -> None:
    memory = Memory(example(PINCH))
    for kind in Kind:
        for place in range(len(memory.read().held(kind).places)):  # type: ignore[union-attr]
            memory.spoil(kind, place, 2, 0x77)
    answer = said(memory)
    assert answer.identity.serial is None and answer.identity.answer is Answer.MISSING
    assert answer.bench is not None and (answer.bench.trims, answer.bench.ends) == ((), ())
    assert answer.setup is not None and answer.setup.values == ()
    assert {preset.answer for preset in answer.presets} == {Answer.MISSING}
    assert answer.state.engaged is None


@pytest.mark.slow
@pytest.mark.parametrize("name", [*NAMES, "gravel_weir"])
def test_preset_blocks_put_back_into_the_product_file_mean_the_same(name: str) -> None:
    text = GRAVEL_WEIR if name == "gravel_weir" else text_of(name)
    layout = gravel_weir() if name == "gravel_weir" else example(name)
    memory = Memory(layout)
    last = layout.product.holds.preset_slots - 1
    tops = {item.name: item.codes - 1 for item in layout.product.per_preset}
    memory.write(Kind.PRESETS, last, number=last, counter=2, **tops)
    cut = text.index("\npreset 1 ")
    behind = text.find("\naccept", cut)
    rest = text[behind:] if behind > 0 else ""
    again = planned(name, f"{text[:cut]}\n{preset_blocks(said(memory))}{rest}")
    assert again.fingerprint == layout.fingerprint
    written = {preset.number: preset.codes for preset in again.product.presets}
    assert written.pop(last + 1) == tuple(tops.values())
    assert len(written) == last
    for slot, preset in enumerate(said(memory).presets[:last], 1):
        assert written[slot] == tuple(value.code for value in preset.values)


def test_preset_blocks_of_a_damaged_memory_and_of_odd_names() -> None:
    memory = Memory(gravel_weir())
    memory.spoil(Kind.PRESETS, 0, 3, 0x77)
    names = {1: 'a"b\\c', 2: "x\x1by", 3: "u\u0308"}
    for slot, name in names.items():
        memory.write(
            Kind.PRESETS,
            slot,
            number=slot,
            counter=2,
            name=int.from_bytes(name.encode().ljust(12, b"\0"), "big"),
            depth=255,
        )
    blocks = preset_blocks(said(memory))
    assert blocks.startswith("# Preset 1 is missing in this memory.\n")
    assert 'preset 2 "a\\"b\\\\c" {' in blocks
    assert 'preset 3 "Preset 3" {' in blocks
    assert 'preset 4 "\u00fc" {' in blocks
    assert "  # depth: the stored code 255 means nothing, so this is the default.\n" in blocks
    text = GRAVEL_WEIR[: GRAVEL_WEIR.index("\npreset 1 ")] + "\n" + blocks
    assert [preset.number for preset in planned("gravel_weir", text).product.presets] == [2, 3, 4, 5]
