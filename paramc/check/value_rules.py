"""Rules about values: defaults, nominals, what presets set."""

from __future__ import annotations

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.text.diagnostic import Rule, Severity

_SIZE = 'selector size "Size" {{ way small "Small" way large "Large"  default {} }}'
_TONE = 'param tone "Tone" {{ range -12 dB .. 12 dB  step 1 dB  {} }}'

VALUE_OUTSIDE_RANGE = Rule(
    "value-outside-range",
    Severity.STOP,
    "A default, nominal, safe value or setting of a preset lies outside its item's range. It is never"
    " moved to the nearer end in silence, because whoever wrote it meant a sound that the unit could then"
    " not make.",
    followed_by(_TONE.format("default 14 dB")),
    followed_by(_TONE.format("default 12 dB")),
)

VALUE_OFF_GRID = Rule(
    "value-off-grid",
    Severity.STOP,
    "A value lies between two steps of its item, so no stored code means it. The message names both"
    " neighbours; which of the two is meant is for the designer to say. Where an item has no default and no"
    " noon, its value at half travel is the default and has to be on a step as well.",
    followed_by(_TONE.format("default 2.5 dB")),
    followed_by(_TONE.format("default 3 dB")),
)

VALUE_KIND = Rule(
    "value-kind",
    Severity.STOP,
    "A param or trim takes a quantity, a selector the name of one of its ways, a flag on or off. A clock"
    " position is for what a knob sets.",
    followed_by(_SIZE.format("2 ms")),
    followed_by(_SIZE.format("large")),
)

WAY_UNKNOWN = Rule(
    "way-unknown",
    Severity.STOP,
    "A selector knows only the ways that it lists.",
    followed_by(_SIZE.format("larg")),
    followed_by(_SIZE.format("large")),
)

NO_OFF = Rule(
    "no-off",
    Severity.STOP,
    "Off is a value of flags, and of a param that says off at stop: there code 0 stands for it, in place of"
    " the first end of the range. Elsewhere the first end is an ordinary value.",
    followed_by(_TONE.format("default off")),
    followed_by(_TONE.format("off at stop  default off")),
)

CLOCK_OUTSIDE_TURN = Rule(
    "clock-outside-turn",
    Severity.STOP,
    "A clock position is where the knob points that sets the item, and a knob points only to where it turns:"
    " 300 degrees go from 7:00 to 5:00, 270 degrees from 7:30 to 4:30.",
    changed("adc 10 bits", "adc 10 bits  turn 270 deg") + 'preset 1 "Down" { level at 7:00 }\n',
    DOORBELL + 'preset 1 "Down" { level at 7:00 }\n',
)

RULES = (VALUE_OUTSIDE_RANGE, VALUE_OFF_GRID, VALUE_KIND, WAY_UNKNOWN, NO_OFF, CLOCK_OUTSIDE_TURN)
