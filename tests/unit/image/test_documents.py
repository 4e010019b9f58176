"""Preset documents: what they ask for, and what is wrong with them."""

from __future__ import annotations

import json
from typing import Any

import pytest

from paramc.emit.presets_schema import presets_schema
from paramc.image.documents import Document, NewPreset, Problem, read_document
from paramc.layout.layout import Layout
from tests.unit.image.layouts import example, gravel_weir

PINCH = "teasel_pinch"
SLOT = "Slot of entry 1 of presets is {}, and the slots of this product are 1 to 8."


def read(layout: Layout, value: Any) -> Document | tuple[Problem, ...]:
    return read_document(layout, json.loads(presets_schema(layout)), json.dumps(value).encode())


def asked(layout: Layout, presets: list[Any], **more: Any) -> Document:
    answer = read(layout, {"product": layout.product.name, "presets": presets, **more})
    assert isinstance(answer, Document), answer
    return answer


def problems(layout: Layout, presets: Any, **more: Any) -> tuple[Problem, ...]:
    answer = read(layout, {"product": layout.product.name, "presets": presets, **more})
    assert isinstance(answer, tuple), answer
    return answer


def test_a_slot_reads_like_a_preset_block() -> None:
    document = asked(
        example(PINCH),
        [
            {"slot": 3, "values": {"attack": "25 ms", "level": "off", "tone": "bright"}},
            {"slot": 1, "values": {}},
        ],
    )
    # Unsaid are the defaults, not the factory sound of the slot: squeeze -24 dBu, ratio 4:1, release 200 ms.
    assert document == Document(
        (
            NewPreset(2, None, (36, 25, 245, 32, 0, 2), frozenset({"attack", "level", "tone"})),
            NewPreset(0, None, (36, 25, 75, 32, 120, 1), frozenset()),
        ),
        (),
        (),
    )


def test_settings_come_in_the_order_of_the_product_whatever_theirs() -> None:
    document = asked(example(PINCH), [], setup={"power_on": "engaged", "dry_blend": "40 %", "make_up": "off"})
    assert document.setup == (("dry_blend", 40), ("make_up", 0), ("power_on", 0))


def test_names_and_nearest_codes() -> None:
    document = asked(
        gravel_weir(), [{"slot": 5, "name": "\u00dcber", "values": {"depth": "201 Hz", "speed": "at 12:00"}}]
    )
    [new] = document.presets
    assert (new.slot, new.name, new.codes[:2]) == (4, "\u00dcber", (127, 31))
    assert document.notes == (
        Problem("$.presets[0].values.depth", "201 Hz is stored as 200 Hz."),
        Problem("$.presets[0].values.speed", "at 12:00 is stored as 1 Hz."),
    )


@pytest.mark.parametrize(
    ("preset", "path", "sentence"),
    [
        ({"slot": 1}, "", "Entry 1 of presets lacks values."),
        ({"values": {}}, "", "Entry 1 of presets lacks slot."),
        ({}, "", "Entry 1 of presets lacks slot and values."),
        ([], "", "Entry 1 of presets must be an object."),
        ({"slot": 0, "values": {}}, ".slot", SLOT.format(0)),
        ({"slot": 9, "values": {}}, ".slot", SLOT.format(9)),
        ({"slot": "1", "values": {}}, ".slot", "Slot of entry 1 of presets must be a whole number."),
        ({"slot": True, "values": {}}, ".slot", "Slot of entry 1 of presets must be a whole number."),
        ({"slot": 1, "values": []}, ".values", "Values of entry 1 of presets must be an object."),
        ({"slot": 1, "values": {"attack": 8}}, ".values.attack", "Attack must be a text."),
        (
            {"slot": 1, "values": {"atack": "8 ms"}},
            ".values",
            "Values of entry 1 of presets has the key atack, which is not known; the nearest is attack.",
        ),
        (
            {"slot": 1, "values": {"knee": "8 dB"}},  # kept once
            ".values",
            "Values of entry 1 of presets has the key knee, which is not known.",
        ),
        (
            {"slot": 1, "values": {}, "name": "x"},  # presets of this product have none
            "",
            "Entry 1 of presets has the key name, which is not known.",
        ),
        (
            {"slot": 1, "values": {"attack": "fast"}},
            ".values.attack",
            "Param attack: fast is no value; write a quantity from 0.5 ms to 80 ms.",
        ),
        (
            {"slot": 1, "values": {"attack": "90 ms"}},
            ".values.attack",
            "Param attack: 90 ms is outside its range, 0.5 ms to 80 ms; the nearest is 80 ms.",
        ),
        (
            {"slot": 1, "values": {"tone": "hot"}},
            ".values.tone",
            "Selector tone: hot is not known; write one of its ways: warm, plain, bright.",
        ),
    ],
)
def test_what_is_wrong_with_a_slot(preset: Any, path: str, sentence: str) -> None:
    assert problems(example(PINCH), [preset]) == (Problem(f"$.presets[0]{path}", sentence),)


def test_what_is_wrong_with_the_whole() -> None:
    layout = example(PINCH)
    assert read(layout, {"product": "teasel_punch", "presets": []}) == (
        Problem("$.product", "The document is for product teasel_punch, and this is teasel_pinch."),
    )
    assert read(layout, {"presets": []}) == (Problem("$", "The document lacks product."),)
    assert read(layout, []) == (Problem("$", "The document must be an object."),)
    assert problems(layout, {}) == (Problem("$.presets", "Presets must be an array."),)
    slots = [{"slot": 1, "values": {}}] * 9
    assert problems(layout, slots) == (
        Problem("$.presets", "Presets has 9 entries, and the product has 8 slots."),
    )
    assert problems(layout, [], setup={"knee": "6.5 dB"}) == (
        Problem("$.setup.knee", "Param knee: 6.5 dB lies between two steps, 6 dB and 7 dB."),
    )
    assert problems(layout, [], setup={"attack": "8 ms"}) == (
        Problem("$.setup", "Setup has the key attack, which is not known."),
    )


def test_everything_that_is_wrong_is_told() -> None:
    found = problems(
        example(PINCH),
        [
            {"slot": 2, "values": {"attack": "90 ms", "release": "41 ms"}},
            {"slot": 2, "values": {"level": "13 dB"}},
        ],
        setup={"knee": "13 dB"},
    )
    assert [problem.path for problem in found] == [
        "$.presets[0].values.attack",
        "$.presets[0].values.release",
        "$.presets[1].slot",
        "$.presets[1].values.level",
        "$.setup.knee",
    ]
    assert found[2].sentence == "Slot 2 is given twice."


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("abcdefghijklm", "Name of entry 1 of presets has 13 characters, and room for 12 bytes."),
        ("\u00fcber\u00fcber\u00fc", None),
        (
            "\u00fcber\u00fcber\u00fc!!",
            'The name "\u00fcber\u00fcber\u00fc!!" takes 14 bytes in UTF-8, and a name has room for 12.',
        ),
        ("u\u0308ber", 'The name "u\u0308ber" is not in Unicode normal form C, in which names are stored.'),
        ("a\u0007", "The name has the character U+0007, which cannot be shown."),
        ("a\u202eb", "The name has the character U+202E, which cannot be shown."),
        ("a\ud800", "The name has the character U+D800, which cannot be shown."),
        ("a\u0000", "The name has the character U+0000, which cannot be shown."),
    ],
)
def test_a_name_fits_in_bytes_and_can_be_shown(name: str, sentence: str | None) -> None:
    preset = [{"slot": 1, "name": name, "values": {}}]
    if sentence is None:
        assert asked(gravel_weir(), preset).presets[0].name == name
    else:
        assert problems(gravel_weir(), preset) == (Problem("$.presets[0].name", sentence),)
