"""Rules about how a promise is made. Whether it is kept is a rule of the layout."""

from __future__ import annotations

from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity

_TRIM = 'trim gain "Gain" { range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB  safe -3 dB }'
_WAYS = 'selector tone "Tone" {{ way dark "Dark"{}  way bright "Bright"{}  default dark }}'


def _promise(text: str, *items: str) -> str:
    return followed_by(*items, f'promise "quiet" {text}')


PROMISE_SUBJECT = Rule(
    "promise-subject",
    Severity.STOP,
    "A promise compares numbers. A selector has one where each of its ways says one.",
    _promise("in every preset tone <= 2", _WAYS.format("", "")),
    _promise("in every preset tone <= 2", _WAYS.format(" = 1", " = 2")),
)

PROMISE_VARY = Rule(
    "promise-vary",
    Severity.STOP,
    "What a promise varies are trims that its subject speaks of: each is tried at both ends of what is"
    " plausible and at its nominal value, and all of them together in every combination. Another item has its"
    " presets and positions, and a trim that is not in the subject would change nothing.",
    _promise("in every preset is level / 100 <= 1 vary gain", _TRIM),
    _promise("in every preset is level / 100 * 10^(gain / 20) <= 2 vary gain", _TRIM),
)

PROMISE_BOUNDS = Rule(
    "promise-bounds",
    Severity.STOP,
    "The two ends of a promise are one value, which leaves nothing between them. Stored values and the pot's"
    " readings come in steps, so a promise says how far they may be off.",
    _promise("at noon level within 50 % .. 50 %"),
    _promise("at noon level within 49 % .. 51 %"),
)

RULES = (PROMISE_SUBJECT, PROMISE_VARY, PROMISE_BOUNDS)
