"""Rules about what a maker accepts."""

from __future__ import annotations

from paramc.check.example import changed, followed_by
from paramc.text.diagnostic import Rule, Severity

_FLASHING = changed("shows GLOW on", "shows GLOW blinks 4 Hz")


def _flashing(accept: str) -> str:
    """The example with a lamp that flashes too fast, and an accept behind it."""
    return f"{_FLASHING}{accept}\n"


ACCEPT_UNKNOWN = Rule(
    "accept-unknown",
    Severity.STOP,
    "There is no rule of the name that is accepted. An accept that was mistyped would otherwise look like"
    " one that has nothing left to do.",
    _flashing('accept lamp-over-3-herz because "the lamp is inside"'),
    _flashing('accept lamp-over-3-hertz because "the lamp is inside"'),
)

ACCEPT_STOP = Rule(
    "accept-stop",
    Severity.STOP,
    "The rule is a stop: what it finds has no right output, so there is nothing to accept. Only mends can"
    " be accepted.",
    _flashing('accept said-twice because "both are right"'),
    _flashing('accept lamp-over-3-hertz because "the lamp is inside"'),
)

ACCEPT_WITHOUT_REASON = Rule(
    "accept-without-reason",
    Severity.STOP,
    "Whoever reads the file later needs to know why a mend was accepted, and whether that still holds. So"
    " the reason is not empty.",
    _flashing('accept lamp-over-3-hertz because " "'),
    _flashing('accept lamp-over-3-hertz because "the lamp is inside"'),
)

ACCEPT_MEETS_NOTHING = Rule(
    "accept-meets-nothing",
    Severity.MEND,
    "The mend that is accepted is not there any more, or stands elsewhere. An accept that is left behind"
    " would hide the next one of its kind, so take it out.",
    followed_by('accept lamp-over-3-hertz because "the lamp is inside"'),
    _flashing('accept lamp-over-3-hertz because "the lamp is inside"'),
)

RULES = (ACCEPT_UNKNOWN, ACCEPT_STOP, ACCEPT_WITHOUT_REASON, ACCEPT_MEETS_NOTHING)
