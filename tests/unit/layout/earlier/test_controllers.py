"""A MIDI controller that was released stays what it was."""

from __future__ import annotations

import pytest

from paramc.check.example import changed
from paramc.check.midi_rules import with_midi
from paramc.driver import understand
from paramc.text.source import Source
from tests.released import released

FIRST = with_midi("channel 1  cc 20 sets tone  cc 21 fine sets level")


@pytest.mark.parametrize(("lines", "rules"), [
    ("channel 2  cc 20 sets tone  cc 21 fine sets level", []),
    ("channel 1  cc 20 sets tone", []),  # 21 and 53 stay empty
    ("channel 1  cc 20 fine sets tone  cc 21 fine sets level", ["cc-moved"]),
    ("channel 1  cc 20 sets tone  cc 21 sets level", ["cc-moved"]),
    ("channel 1  cc 22 sets tone", ["cc-moved"]),
    ("channel 1  cc 20 sets level", ["cc-again"]),
    ("channel 1  cc 53 sets tone", ["cc-again"]),
    ("channel 1  cc 20 sets tone  cc 22 fine sets level", ["cc-moved"]),
])
def test_numbers_are_a_register(lines: str, rules: list[str]) -> None:
    second = changed("revision 1", "revision 2", with_midi(lines))
    found = understand(Source("second.paramc", second), released([FIRST])).diagnostics
    assert [one.rule.name for one in found if one.rule.name in ("cc-again", "cc-moved")] == rules


def test_a_number_that_was_given_up_is_kept_over_revisions_and_names() -> None:
    second = changed("revision 1", "revision 2", with_midi("channel 1  cc 20 sets tone"))
    third = changed("revision 1", "revision 3", with_midi("channel 1  cc 20 sets hue  cc 21 sets hue_too"))
    third = third.replace('param tone "Tone" {', 'param hue "Hue" { was tone ')
    third += 'flag hue_too "Hue too" { default off  since 3 formerly off }\n'
    found = understand(Source("third.paramc", third), released([FIRST, second])).diagnostics
    assert [one.sentence for one in found if one.rule.name.startswith("cc-")] == [
        'Controller 21 sets flag "Hue too", and in revision 1 it set param "Level".'
    ]
