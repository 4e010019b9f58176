"""Rules about ranges, grids and noon."""

from __future__ import annotations

from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity


def _rise(lines: str) -> str:
    """The example with a param that says these lines."""
    return followed_by(f'param rise "Rise" {{ {lines} }}')


RANGE_EMPTY = Rule(
    "range-empty",
    Severity.STOP,
    "Both ends of a range are the same, so there is nothing to turn or to choose. The same holds for what a"
    " trim calls plausible: no measured value would ever pass.",
    _rise("range 5 ms .. 5 ms  step 1 ms"),
    _rise("range 5 ms .. 7 ms  step 1 ms"),
)

RANGE_IN_TWO_UNITS = Rule(
    "range-in-two-units",
    Severity.STOP,
    "Both ends of a range are written in one unit. It is the unit in which the item's values appear on the"
    " sheet, in reports and in expressions, so the file has to say which.",
    _rise("range 20 ms .. 1.2 s  step 10 ms"),
    _rise("range 20 ms .. 1200 ms  step 10 ms"),
)

TWO_GRIDS = Rule(
    "two-grids",
    Severity.STOP,
    "An item is divided either by step, into equal changes of value, or by coded, into equal parts of"
    " travel. With both there would be two meanings for one stored code.",
    _rise("range 5 ms .. 85 ms  step 1 ms  coded 8 bits"),
    _rise("range 5 ms .. 85 ms  coded 8 bits"),
)

STEP_NOT_POSITIVE = Rule(
    "step-not-positive",
    Severity.STOP,
    "A step is a distance and so above zero. The direction of an item comes from its range, which may fall.",
    _rise("range 85 ms .. 5 ms  step -1 ms"),
    _rise("range 85 ms .. 5 ms  step 1 ms"),
)

WHOLE_STEPS = Rule(
    "whole-steps",
    Severity.STOP,
    "A range is a whole number of steps, so that both of its ends can be stored. The message names the"
    " nearest ranges and steps that would do.",
    _rise("range 5 ms .. 85 ms  step 3 ms"),
    _rise("range 5 ms .. 83 ms  step 3 ms"),
)

TOO_MANY_CODES = Rule(
    "too-many-codes",
    Severity.STOP,
    "A stored code has 16 bits at most and all ones is never written, so an item has at most 65535 codes; a"
    " selector, whose ways are chosen one by one, has at most 255.",
    _rise("range 0 s .. 100 s  step 1 ms"),
    _rise("range 0 s .. 100 s  step 2 ms"),
)

NOON_OUTSIDE_RANGE = Rule(
    "noon-outside-range",
    Severity.STOP,
    "Noon is what the knob gives when it points straight up, so it lies inside the range; and strictly"
    " inside where it makes the taper, because a curve that reaches its end half way cannot go on in the"
    " same direction.",
    _rise("range 0.5 ms .. 80 ms  noon 90 ms  step 0.1 ms"),
    _rise("range 0.5 ms .. 80 ms  noon 8 ms  step 0.1 ms"),
)

NOON_AND_TAPER = Rule(
    "noon-and-taper",
    Severity.STOP,
    "With a taper, noon is a claim about it: the taper has to give that value at half travel, to half a step"
    " or half a code. Leave the taper out to have noon make the curve, or leave noon out.",
    _rise("range 0 ms .. 80 ms  noon 8 ms  taper linear  step 1 ms"),
    _rise("range 0 ms .. 80 ms  noon 40 ms  taper linear  step 1 ms"),
)

RULES = (
    RANGE_EMPTY,
    RANGE_IN_TWO_UNITS,
    TWO_GRIDS,
    STEP_NOT_POSITIVE,
    WHOLE_STEPS,
    TOO_MANY_CODES,
    NOON_OUTSIDE_RANGE,
    NOON_AND_TAPER,
)
