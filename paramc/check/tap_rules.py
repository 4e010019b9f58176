"""Rules about tap tempo."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

_TIME = 'param time "Time" { range 20 ms .. 1200 ms  step 1 ms  default 400 ms }\n'
_BEAT = 'selector beat "Beat" { way whole "1/4" = 1  way dotted "1/8 dotted" = 3/4  default whole }\n'


def with_tap(block: str, items: str = _TIME + _BEAT) -> str:
    """The example with a second footswitch, a time, its subdivisions and a tap block."""
    return changed('footswitch PUSH "Push"', 'footswitch PUSH "Push", BEAT "Beat"') + items + block + "\n"


_RIGHT = with_tap("tap BEAT sets time by beat { taps 3  gap 2 s  fold halve }")

TAP_TIME = Rule(
    "tap-time",
    Severity.STOP,
    "Taps give the time between them. So what they set is a param whose range is of times above zero; a tempo"
    " or a rate is written as the time of one beat.",
    with_tap("tap BEAT sets level by beat { taps 3  gap 2 s  fold halve }"),
    _RIGHT,
)

TAP_RATIOS = Rule(
    "tap-ratios",
    Severity.STOP,
    "The way that is chosen says which part of a beat the time is: 1, 3/4, 1/2. So each way of the selector"
    " has a plain number above zero.",
    with_tap(
        "tap BEAT sets time by beat { taps 3  gap 2 s  fold halve }",
        _TIME + _BEAT.replace(" = 3/4", "").replace(" = 1", ""),
    ),
    _RIGHT,
)

_TAPS = 'param many "Taps" {{ range {}  step 1  default 3  kept once }}\n'

TAPS_FROM = Rule(
    "taps-from",
    Severity.STOP,
    "A param that says how many taps count does so by whole numbers from 2, the fewest that have a time"
    " between them, to 16.",
    with_tap("tap BEAT sets time { taps from many  gap 2 s  fold stop }", _TIME + _TAPS.format("1 .. 6")),
    with_tap("tap BEAT sets time { taps from many  gap 2 s  fold stop }", _TIME + _TAPS.format("2 .. 6")),
)

RULES = (TAP_TIME, TAP_RATIOS, TAPS_FROM)
