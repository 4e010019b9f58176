"""Rules about the front panel."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

ENDS_EQUAL = Rule(
    "ends-equal",
    Severity.STOP,
    "The ends of a knob are the two readings of its stops. With both equal every position would be both"
    " stops at once.",
    changed("adc 10 bits", "adc 10 bits  ends 512 .. 512"),
    changed("adc 10 bits", "adc 10 bits  ends 1000 .. 20"),
)

ENDS_OUTSIDE_ADC = Rule(
    "ends-outside-adc",
    Severity.STOP,
    "A converter of N bits reads 0 to 2^N - 1. An end beyond that is never reached, so that the knob would"
    " stop short of its range.",
    changed("adc 10 bits", "adc 10 bits  ends 40 .. 4050"),
    changed("adc 10 bits", "adc 12 bits  ends 40 .. 4050"),
)

NOISE_TOO_WIDE = Rule(
    "noise-too-wide",
    Severity.STOP,
    "The noise of a knob becomes its hysteresis: how far a reading has to move before it counts. Noise that"
    " fills the way between the two ends leaves nothing that could be set.",
    changed("adc 10 bits", "adc 10 bits  noise 900 counts"),
    changed("adc 10 bits", "adc 10 bits  noise 4 counts"),
)

def _pedal(lines: str) -> str:
    pedal = f'pedal EXP "Expression" {{ adc 12 bits  {lines} }}'
    return changed('lamp GLOW "Glow"', f'lamp GLOW "Glow"\n  {pedal}')


UNPLUGGED_IN_REACH = Rule(
    "unplugged-in-reach",
    Severity.STOP,
    "The counts of an empty socket overlap those that the pedal gives between heel and toe, so that the unit"
    " would let go of the pedal in the middle of a swell. Where nothing is said, a pedal stops 1.5 % short at"
    " each end, as a knob does.",
    _pedal("ends 40 .. 4080  unplugged 4070 .. 4095"),
    _pedal("ends 40 .. 4050  unplugged 4070 .. 4095"),
)

RULES = (ENDS_EQUAL, ENDS_OUTSIDE_ADC, NOISE_TOO_WIDE, UNPLUGGED_IN_REACH)
