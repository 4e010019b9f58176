"""Rules about MIDI."""

from __future__ import annotations

from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity

_TONE = 'param tone "Tone" { range 0 % .. 100 %  step 1 % }'
_CHANNEL = 'param channel_number "MIDI channel" {{ range {}  step 1  default 1  kept once }}'


def with_midi(lines: str, *items: str) -> str:
    """The example with a second param and a midi block."""
    return followed_by(_TONE, *items, f"midi {{ {lines} }}").replace("size 256 bytes", "size 512 bytes")


MIDI_CHANNEL = Rule(
    "midi-channel",
    Severity.STOP,
    "A param that says the channel does so by whole numbers from 0, which is every channel, to 16.",
    with_midi("channel from channel_number  cc 20 sets tone", _CHANNEL.format("0 .. 17")),
    with_midi("channel from channel_number  cc 20 sets tone", _CHANNEL.format("0 .. 16")),
)

CC_RESERVED = Rule(
    "cc-reserved",
    Severity.STOP,
    "The numbers 120 to 127 look like controllers and are messages to the whole channel: all sound off, reset"
    " all controllers, all notes off and the modes. An item that took one would be turned by every panic"
    " button.",
    with_midi("channel 1  cc 120 sets tone"),
    with_midi("channel 1  cc 119 sets tone"),
)

CC_FINE = Rule(
    "cc-fine",
    Severity.STOP,
    "A fine controller sends its upper seven bits under its own number and its lower seven under the number"
    " 32 above it. Only 0 to 31 have such a partner.",
    with_midi("channel 1  cc 70 fine sets tone"),
    with_midi("channel 1  cc 20 fine sets tone"),
)

CC_TWICE = Rule(
    "cc-twice",
    Severity.STOP,
    "One controller sets two items, or one item is set by two controllers. The map is read both ways, from"
    " the controller to the item and back when the unit says what it plays, so each stands in it once. A"
    " fine controller takes two numbers, its own and the one 32 above it.",
    with_midi("channel 1  cc 20 fine sets tone  cc 52 sets level"),
    with_midi("channel 1  cc 20 fine sets tone  cc 53 sets level"),
)

PROGRAM_OUTSIDE_SLOTS = Rule(
    "program-outside-slots",
    Severity.STOP,
    "The first program of the range calls preset 1, the next preset 2 and so on, up to the last slot that"
    " there is. Program numbers are as they are printed, from 1.",
    with_midi("channel 1  program 1 .. 3 sets preset"),
    with_midi("channel 1  program 1 .. 2 sets preset"),
)

RULES = (MIDI_CHANNEL, CC_RESERVED, CC_FINE, CC_TWICE, PROGRAM_OUTSIDE_SLOTS)
