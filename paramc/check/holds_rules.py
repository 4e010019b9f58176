"""Rules about what the memory holds."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

TOO_MANY_PLACES = Rule(
    "too-many-places",
    Severity.STOP,
    "The presets share their slots and spare places, and the generated firmware numbers these places in one"
    " byte. So slots and spare places together are at most 255.",
    changed("presets 2 slots spare 1", "presets 200 slots spare 56"),
    changed("presets 2 slots spare 1", "presets 200 slots spare 55"),
)

_TRIM = (
    'trim bias "Bias" { range -10 % .. 10 %  step 1 %  nominal 0 %  safe -10 % }\n'
    'mode bench { enter jumper "JP1"  LOUD sets bias }\n'
)

PLAY_WITH_SAFE_TRIM = Rule(
    "play-with-safe-trim",
    Severity.STOP,
    "A trim with a safe value is one that can do harm when it is wrong. While such a trim is lost the unit"
    " may not go on playing as if nothing had happened: let it mute, or bypass.",
    changed("presets 2 slots", "bench 2 copies if lost play  presets 2 slots") + _TRIM,
    changed("presets 2 slots", "bench 2 copies if lost mute  presets 2 slots") + _TRIM,
)

RULES = (TOO_MANY_PLACES, PLAY_WITH_SAFE_TRIM)
