"""Rules about tapers, of params and of the parts that knobs are."""

from __future__ import annotations

from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity


def _rise(lines: str) -> str:
    """The example with a param that says these lines."""
    return followed_by(f'param rise "Rise" {{ {lines} }}')


def _tilt(points: str) -> str:
    return _rise(f"range -100 % .. 100 %  step 2 %  taper points {{ {points} }}")


GEOMETRIC_ENDS = Rule(
    "geometric-ends",
    Severity.STOP,
    "A geometric taper multiplies by an equal ratio for every degree, so both ends have one sign and neither"
    " is zero. A noon without a taper makes a similar curve that may touch or cross zero. What the part of a"
    " knob gives begins at zero, so a pot is never geometric.",
    _rise("range 0 ms .. 80 ms  taper geometric  coded 8 bits"),
    _rise("range 1 ms .. 80 ms  taper geometric  coded 8 bits"),
)

AUDIO_SHARE = Rule(
    "audio-share",
    Severity.STOP,
    "The percentage of an audio taper is where noon lies in the range: above 0 % and below 100 %. Over 50 %"
    " it is what makers of potentiometers call reverse audio.",
    _rise("range 0 ms .. 80 ms  taper audio 100 %  coded 8 bits"),
    _rise("range 0 ms .. 80 ms  taper audio 10 %  coded 8 bits"),
)

S_SHARE = Rule(
    "s-share",
    Severity.STOP,
    "The percentage of an s taper is the share of the range that lies below a quarter of the travel, and"
    " with it the share above three quarters: above 0 %, and below 25 %, where it would be a straight line.",
    _rise("range -12 dB .. 12 dB  step 1 dB  taper s 30 %"),
    _rise("range -12 dB .. 12 dB  step 1 dB  taper s 10 %"),
)

POINTS_ENDS = Rule(
    "points-ends",
    Severity.STOP,
    "The points of a taper lead all the way: the first is at 7:00 with the first end of the range, the last"
    " at 5:00 with its last end. A clock there is travel on a scale of 300 degrees, whatever the turn of the"
    " knob. The points of a pot lead from 0 % to 100 %.",
    _tilt("8:00 -100 %  12:00 0 %  5:00 100 %"),
    _tilt("7:00 -100 %  12:00 0 %  5:00 100 %"),
)

POINTS_ORDER = Rule(
    "points-order",
    Severity.STOP,
    "The points of a taper stand in the order in which the knob comes by them, each at a clock of its own.",
    _tilt("7:00 -100 %  12:00 0 %  9:30 -36 %  5:00 100 %"),
    _tilt("7:00 -100 %  9:30 -36 %  12:00 0 %  5:00 100 %"),
)

POINTS_ONE_WAY = Rule(
    "points-one-way",
    Severity.STOP,
    "A taper goes in one direction, that of the range: each point lies beyond the one before. So a value has"
    " one place on the knob, and turning it further never undoes what was turned so far.",
    _tilt("7:00 -100 %  9:30 20 %  12:00 0 %  5:00 100 %"),
    _tilt("7:00 -100 %  9:30 -20 %  12:00 0 %  5:00 100 %"),
)

FLAT_WIDTH = Rule(
    "flat-width",
    Severity.STOP,
    "The flat is the stretch about noon on which the knob keeps noon's value, as a share of its travel: above"
    " 0 % and at most 12 %. A wider one would feel like a dead knob; 3 % to 6 % are enough to find noon.",
    _rise("range -12 dB .. 12 dB  step 1 dB  flat for 15 % of travel"),
    _rise("range -12 dB .. 12 dB  step 1 dB  flat for 5 % of travel"),
)

FLAT_NOON = Rule(
    "flat-noon",
    Severity.STOP,
    "What the knob keeps on its flat is the value at half travel, so a code has to mean it: noon as it is"
    " written, or else what the taper gives there, lies on a step.",
    _rise("range 0 ms .. 85 ms  step 1 ms  default 40 ms  flat for 5 % of travel"),
    _rise("range 0 ms .. 86 ms  step 1 ms  default 40 ms  flat for 5 % of travel"),
)

RULES = (
    GEOMETRIC_ENDS,
    AUDIO_SHARE,
    S_SHARE,
    POINTS_ENDS,
    POINTS_ORDER,
    POINTS_ONE_WAY,
    FLAT_WIDTH,
    FLAT_NOON,
)
