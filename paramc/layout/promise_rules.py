"""Rules about whether promises are kept."""

from __future__ import annotations

from paramc.layout.rules import with_blocks
from paramc.text.diagnostic import Rule, Severity

_LOUD = 'preset 1 "Loud" {{ level {} }}'
_FINE = " ".join(f'param p{at} "P{at}" {{{{ range 0 .. {{}}  step 1 }}}}' for at in range(2))

PROMISE_BROKEN = Rule(
    "promise-broken",
    Severity.STOP,
    "A promise does not hold for some unit that the file can make. The worst place is shown. What is promised"
    " is worked out exactly for every case: with knobs at noon through pot, converter, flat and table;"
    " in every slot, empty ones too; at power up; or at every code; and with trims that vary at both ends of"
    " what is plausible and at nominal, in every combination. Off lies below every level.",
    with_blocks(_LOUD.format("80 %"), 'promise "not too loud" in every preset level <= 60 %'),
    with_blocks(_LOUD.format("60 %"), 'promise "not too loud" in every preset level <= 60 %'),
)

PROMISE_NO_ANSWER = Rule(
    "promise-no-answer",
    Severity.STOP,
    "The expression of a promise has no answer in some case: it divides by zero there, or takes the root or"
    " the logarithm of a number that has none. So nobody can say whether the promise is kept.",
    with_blocks('promise "bounded" in every preset is 100 / level <= 100', 'preset 1 "Silent" { level 0 % }'),
    with_blocks('promise "bounded" in every preset is 100 / max(level, 1) <= 100'),
)

PROMISE_TOO_LARGE = Rule(
    "promise-too-large",
    Severity.STOP,
    "A promise about several items at every position is worked out for every combination of their codes."
    " Where there are more than a hundred thousand of them it is refused, because a check that takes minutes"
    " is one that nobody runs. Promise it of fewer items, or of the presets.",
    with_blocks(_FINE.format(1000, 1000), 'promise "bounded" at every position is p0 + p1 <= 2000'),
    with_blocks(_FINE.format(100, 100), 'promise "bounded" at every position is p0 + p1 <= 2000'),
)

RULES = (PROMISE_BROKEN, PROMISE_NO_ANSWER, PROMISE_TOO_LARGE)
