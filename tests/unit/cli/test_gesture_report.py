"""What the report says of gestures is what the recogniser does."""

from __future__ import annotations

import re

from paramc.check.example import DOORBELL, changed
from paramc.cli.renderers.gestures import BOUNCE_MS, as_data, as_text
from paramc.driver import outputs, understand
from paramc.layout.layout import Layout
from paramc.text.source import Source

_DOES = (
    "press PUSH does bypass  hold PUSH for 0.8 s does reset slot undoes press twice"
    '  hold PUSH at power up for 2 s does flip bright  jumper "JP\\n1" does flip bright'
)


def layout(text: str) -> Layout:
    answer = understand(Source("a.paramc", text))
    assert answer.value is not None, [found.sentence for found in answer.diagnostics]
    return answer.value.layout


FEET = layout(changed("press PUSH does bypass", _DOES) + 'flag bright "Bright" { default off }\n')


def test_each_gesture_says_how_late_it_is() -> None:
    assert [(one["gesture"], one["does"], one["added_ms"]) for one in as_data(FEET)] == [
        ("press PUSH", "bypass", 0),
        ("hold PUSH", "reset slot", 800),
        ("hold PUSH at power up", "flip bright", 2000),
        ('jumper "JP\\n1"', "flip bright", BOUNCE_MS),
    ]


def test_the_reasons_are_told() -> None:
    told = "\n".join(as_text(FEET))
    assert "gives the press back; then asks for the same once more" in told
    assert "the hold, from switching on" in told
    assert "\\n" in told and all(len(line) < 160 for line in told.splitlines())


def test_a_product_without_gestures_has_no_table() -> None:
    none = layout(changed("  press PUSH does bypass", "").replace("shows GLOW on", ""))
    assert (as_text(none), as_data(none)) == ([], [])


def test_bounces_are_those_of_the_generated_header() -> None:
    header = next(one for one in outputs(FEET) if one.name.endswith(".h")).data.decode()
    [bounce] = re.findall(r"#define DB_BOUNCE (\d+)u", header)
    assert int(bounce) == BOUNCE_MS
    holds = [one["added_ms"] for one in as_data(FEET) if one["gesture"].startswith("hold")]
    source = next(one for one in outputs(FEET) if one.name == "doorbell.c").data.decode()
    assert all(f"{ms}u" in source for ms in holds)


def test_the_example_shows_one_press() -> None:
    assert [one["added_ms"] for one in as_data(layout(DOORBELL))] == [0]
