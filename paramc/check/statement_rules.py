"""Rules about any statement: said twice, left out, out of place, out of its bounds, in a wrong unit."""

from __future__ import annotations

from paramc.check.example import DOORBELL, changed
from paramc.text.diagnostic import Rule, Severity

SAID_TWICE = Rule(
    "said-twice",
    Severity.STOP,
    "Something that can be said once is said twice. Which of the two is meant is not guessed at, not even"
    " where both say the same, because the next edit may change only one of them.",
    changed("revision 1", "revision 1  revision 2"),
    DOORBELL,
)

UNSAID = Rule(
    "unsaid",
    Severity.STOP,
    "Something that has no default is not said. Defaults exist only where one answer is right for nearly"
    " every pedal; the rest decides what is stored where and has to stand in the file.",
    changed("revision 1", ""),
    DOORBELL,
)

MISPLACED = Rule(
    "misplaced",
    Severity.STOP,
    "A statement stands where it has no meaning, such as an ADC width on a footswitch or a number of slots"
    " in the bench. It is refused rather than passed over, because whoever wrote it expected something"
    " of it.",
    changed('"Push"', '"Push" { adc 10 bits }'),
    DOORBELL,
)

OUT_OF_BOUNDS = Rule(
    "out-of-bounds",
    Severity.STOP,
    "A number is smaller or greater than what it counts can be. The message says both bounds.",
    changed("revision 1", "revision 255"),
    changed("revision 1", "revision 254"),
)

WRONG_UNIT = Rule(
    "wrong-unit",
    Severity.STOP,
    "A quantity measures something else than what belongs here, such as a time where a voltage is asked"
    " for. Units convert within one dimension only.",
    changed("2.7 V", "2.7 ms"),
    changed("2.7 V", "2700 mV"),
)

RULES = (SAID_TWICE, UNSAID, MISPLACED, OUT_OF_BOUNDS, WRONG_UNIT)
