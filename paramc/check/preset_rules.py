"""Rules about factory presets."""

from __future__ import annotations

from paramc.check.example import changed, followed_by
from paramc.text.diagnostic import Rule, Severity

_ONCE = 'flag tails "Tails" { default on  kept once }'
_HUM = 'trim hum "Hum" { range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB }'
_NAMED = changed("slots spare 1", "slots spare 1  names 8 bytes")

PRESET_TWICE = Rule(
    "preset-twice",
    Severity.STOP,
    "Two presets have one number, and only one of them could be in that slot.",
    followed_by('preset 1 "Soft" { level 20 % }', 'preset 1 "Loud" { level 90 % }'),
    followed_by('preset 1 "Soft" { level 20 % }', 'preset 2 "Loud" { level 90 % }'),
)

PRESET_NAME = Rule(
    "preset-name",
    Severity.STOP,
    "A preset's name is longer than the unit keeps. Bytes are counted as they are stored, in UTF-8, where a"
    " letter with an accent takes two and many other scripts take three for each character.",
    _NAMED + 'preset 1 "Größer" { }\npreset 2 "Ärgerlich" { }\n',
    _NAMED + 'preset 1 "Größer" { }\npreset 2 "Ärger" { }\n',
)

PRESET_KEPT_ONCE = Rule(
    "preset-kept-once",
    Severity.STOP,
    "An item that is kept once has one value for all presets, so a preset that sets it would change the"
    " others too.",
    followed_by(_ONCE, 'preset 1 "Dry" { tails off }'),
    followed_by(_ONCE, 'preset 1 "Dry" { level 20 % }'),
)

PRESET_TRIM = Rule(
    "preset-trim",
    Severity.STOP,
    "A trim is measured on each unit and is nobody's sound: what a preset sets would undo the bench.",
    followed_by(_HUM, 'preset 1 "Dry" { hum 1 dB }'),
    followed_by(_HUM, 'preset 1 "Dry" { level 20 % }'),
)

LIKE_UNKNOWN = Rule(
    "like-unknown",
    Severity.STOP,
    "A preset is like another that the file does not have.",
    followed_by('preset 2 "Soft" like 1 { level 20 % }'),
    followed_by('preset 1 "Loud" { level 90 % }', 'preset 2 "Soft" like 1 { level 20 % }'),
)

LIKE_CIRCLE = Rule(
    "like-circle",
    Severity.STOP,
    "Presets are like one another in a circle, so nothing says what any of them has.",
    followed_by('preset 1 "Loud" like 2 { }', 'preset 2 "Soft" like 1 { level 20 % }'),
    followed_by('preset 1 "Loud" { }', 'preset 2 "Soft" like 1 { level 20 % }'),
)

RULES = (PRESET_TWICE, PRESET_NAME, PRESET_KEPT_ONCE, PRESET_TRIM, LIKE_UNKNOWN, LIKE_CIRCLE)
