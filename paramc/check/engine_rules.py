"""Rules about engine values."""

from __future__ import annotations

from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity


def _time(engine: str) -> str:
    return followed_by(f'param time "Time" {{ range 20 ms .. 1200 ms  step 1 ms  {engine} }}')


def _gain(engine: str) -> str:
    return followed_by(f'param gain "Gain" {{ range -12 dB .. 12 dB  step 0.5 dB  {engine} }}')


def _tail(span: str) -> str:
    return followed_by(f'param tail "Tail" {{ range {span}  step 1 s  engine uq1.31 as decay at 32 kHz }}')


def _rate(engine: str) -> str:
    return followed_by(f'param rate "Rate" {{ range 0.1 Hz .. 8 Hz  coded 8 bits  {engine} }}')


FORMAT_UNKNOWN = Rule(
    "format-unknown",
    Severity.STOP,
    "An engine value is u8, u16, u32, s8, s16 or s32; or uqM.N or qM.N, where M bits in front of the point"
    " and N behind it make 8, 16 or 32 and M of a q counts the sign; or q7, q15, q31, short for q1.7, q1.15,"
    " q1.31.",
    _time("engine u24 as samples at 32 kHz"),
    _time("engine u32 as samples at 32 kHz"),
)

AS_STORED = Rule(
    "as-stored",
    Severity.STOP,
    "An engine without a conversion is the stored code itself. That is a whole number and exact, so its"
    " format is an integer one and it takes no tolerance.",
    _time("engine u16 within 1 ms"),
    _time("engine u16"),
)

CONVERSION_NUMBER = Rule(
    "conversion-number",
    Severity.STOP,
    "A conversion needs a number to convert. A flag has none, and a selector only where each of its ways has"
    " one.",
    followed_by('flag tails "Tails" { default on  engine q15 where 1 is 1 }'),
    followed_by('flag tails "Tails" { default on  engine u8 }'),
)

CONVERSION_DIMENSION = Rule(
    "conversion-dimension",
    Severity.STOP,
    "As gain takes a level difference in dB, as samples and as decay a time, as phase and as pole a"
    " frequency, as pitch an interval in cents, semitones or octaves; no other quantity has a meaning there.",
    _time("engine uq1.15 as gain"),
    _time("engine u16 as samples at 32 kHz"),
)

WHERE_ONE = Rule(
    "where-one",
    Severity.STOP,
    "A value is divided by the quantity that stands behind where 1 is. It is that of 1 and no other number,"
    " and it is not zero.",
    _gain("engine s16 where 2 is 0.5 dB"),
    _gain("engine s16 where 1 is 0.25 dB"),
)

RATE_NOT_POSITIVE = Rule(
    "rate-not-positive",
    Severity.STOP,
    "The rate of a conversion is how many samples a second the firmware works on, and so above zero.",
    _time("engine u16 as samples at 0 Hz"),
    _time("engine u16 as samples at 32 kHz"),
)

PHASE_FORMAT = Rule(
    "phase-format",
    Severity.STOP,
    "A phase step is added to a counter whose whole range is one turn and which wraps. So its format is u8,"
    " u16 or u32, of the counter's own width.",
    _rate("engine s32 as phase at 32 kHz"),
    _rate("engine u32 as phase at 32 kHz"),
)

PHASE_ABOVE_HALF = Rule(
    "phase-above-half",
    Severity.STOP,
    "At half the rate and above a phase counter cannot be told from one that runs slower or backwards, so"
    " every frequency of the item lies below it.",
    _rate("engine u32 as phase at 16 Hz"),
    _rate("engine u32 as phase at 17 Hz"),
)

DECAY_NOT_POSITIVE = Rule(
    "decay-not-positive",
    Severity.STOP,
    "As decay makes a time to fall by 60 dB into the factor of each sample. In no time, or less, there is no"
    " such factor, so every time of the item lies above zero.",
    _tail("0 s .. 8 s"),
    _tail("2 s .. 8 s"),
)

TOLERANCE_NOT_POSITIVE = Rule(
    "tolerance-not-positive",
    Severity.STOP,
    "A tolerance is above zero. Leave it out to have the correctly rounded integer for every code.",
    _time("engine u16 as samples at 32 kHz within 0 ms"),
    _time("engine u16 as samples at 32 kHz within 1 ms"),
)

RELATIVE_AT_ZERO = Rule(
    "relative-at-zero",
    Severity.STOP,
    "A tolerance in % of an item that is not itself in % is a share of the value. Where the range touches"
    " zero the share becomes nothing, and no integer would be near enough. Give the tolerance in the item's"
    " unit.",
    _gain("engine s16 where 1 is 0.25 dB within 1 %"),
    _gain("engine s16 where 1 is 0.25 dB within 0.1 dB"),
)

ENGINE_OVERFLOW = Rule(
    "engine-overflow",
    Severity.STOP,
    "The engine value of a code does not fit its format. In the firmware it would wrap round to another"
    " value, often of the other sign. q15 does not hold 1, uq1.15 does.",
    _gain("engine q15 where 1 is 12 dB within 0.1 dB"),
    _gain("engine q2.14 where 1 is 12 dB within 0.1 dB"),
)

ENGINE_TOO_COARSE = Rule(
    "engine-too-coarse",
    Severity.STOP,
    "For some codes no integer of the format comes as near to the value as the tolerance asks. Take a format"
    " with more bits behind the point, or a wider tolerance, or write or nearest to take the correctly"
    " rounded integer there and have the sheet list those codes.",
    _gain("engine uq4.4 as gain within 0.1 dB"),
    _gain("engine uq4.12 as gain within 0.1 dB"),
)

RULES = (
    FORMAT_UNKNOWN,
    AS_STORED,
    CONVERSION_NUMBER,
    CONVERSION_DIMENSION,
    WHERE_ONE,
    RATE_NOT_POSITIVE,
    PHASE_FORMAT,
    PHASE_ABOVE_HALF,
    DECAY_NOT_POSITIVE,
    TOLERANCE_NOT_POSITIVE,
    RELATIVE_AT_ZERO,
    ENGINE_OVERFLOW,
    ENGINE_TOO_COARSE,
)
