"""Rules about expression pedals."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

_ITEMS = (
    'param depth "Depth" { range 0 % .. 100 %  step 1 % }\n'
    'param heel "Heel" { range 0 % .. 100 %  step 1 %  default 0 %  kept once }\n'
    'param toe "Toe" { range 0 % .. 100 %  step 1 %  default 100 %  kept once }\n'
)


def with_pedal(sets: str, lines: str = "", does: str = "", items: str = _ITEMS) -> str:
    """The example with a pedal, what it sets, and a few items."""
    pedal = f'pedal EXP "Expression" {{ adc 12 bits  {lines} }}'
    text = changed('lamp GLOW "Glow"', f'lamp GLOW "Glow"\n  {pedal}')
    text = changed("LOUD sets level", f"LOUD sets level  EXP sets {sets}  {does}".rstrip(), text)
    return changed("size 256 bytes", "size 512 bytes", text) + items


def _target(ways: str) -> str:
    return with_pedal("level, depth by target", items=_ITEMS + f'selector target "Target" {{ {ways} }}\n')


TARGETS_DIFFER = Rule(
    "targets-differ",
    Severity.STOP,
    "The items that a pedal sets are the ways of its selector in order. So there are as many of one as of the"
    " other.",
    _target('way a "Level"  default a  way b "Depth"  way c "Third"'),
    _target('way a "Level"  default a  way b "Depth"'),
)

HEEL_AND_TOE = Rule(
    "heel-and-toe",
    Severity.STOP,
    "Heel and toe are two params that say which share of the item's travel the pedal gives there, from 0 % to"
    " 100 %. The heel may be above the toe; a pedal that gives the same at both would do nothing, so they are"
    " two params.",
    with_pedal("level from heel to heel"),
    with_pedal("level from heel to toe"),
)

LEARN_FIXED_ENDS = Rule(
    "learn-fixed-ends",
    Severity.STOP,
    "A deed learns where a pedal's heel and toe lie, and the pedal does not say `learned`, so there is no"
    " place in memory to keep them.",
    with_pedal("level", does="hold PUSH for 3 s does learn EXP undoes press"),
    with_pedal("level", "learned", does="hold PUSH for 3 s does learn EXP undoes press"),
)

RULES = (TARGETS_DIFFER, HEEL_AND_TOE, LEARN_FIXED_ENDS)
