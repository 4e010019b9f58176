"""Rules about modes: what controls set, what gestures do."""

from __future__ import annotations

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.text.diagnostic import Rule, Severity

CONTROL_KIND = Rule(
    "control-kind",
    Severity.STOP,
    "Knobs, toggles and rotaries set items, footswitches make gestures, lamps show. A control of another"
    " kind cannot do it: a footswitch has no position that an item could follow.",
    changed("press PUSH does bypass", "press LOUD does bypass"),
    DOORBELL,
)

ITEM_KIND = Rule(
    "item-kind",
    Severity.STOP,
    "The item is of another kind than what is asked of it. Toggles and rotaries choose among the ways of a"
    " selector or turn a flag on and off, flip turns a flag over, and what happens while a switch is held is"
    " said by a selector.",
    changed("press PUSH does bypass", "press PUSH does flip level"),
    changed("press PUSH does bypass", "press PUSH does flip bright")
    + 'flag bright "Bright" { default off }\n',
)

ONE_ITEM = Rule(
    "one-item",
    Severity.STOP,
    "A control sets one item in a mode. Several are for an expression pedal, with a selector behind `by`"
    " that chooses among them.",
    changed("LOUD sets level", "LOUD sets level, bright") + 'flag bright "Bright" { default off }\n',
    DOORBELL,
)

CONTROL_TWICE = Rule(
    "control-twice",
    Severity.STOP,
    "A control sets one thing at a time, and a lamp shows one. Modes without `enter` are always there, so"
    " they count as one here.",
    changed("LOUD sets level", "LOUD sets level  LOUD sets bright")
    + 'flag bright "Bright" { default off }\n',
    DOORBELL,
)

GESTURE_TWICE = Rule(
    "gesture-twice",
    Severity.STOP,
    "One gesture has two meanings at the same time. Holding the same switches is the same gesture whatever"
    " the time, because the longer hold passes through the shorter one. A gesture that enters a mode means"
    " nothing else in any mode, save that it may also leave the mode that it entered.",
    changed("press PUSH does bypass", "press PUSH does bypass  press PUSH does next preset"),
    changed(
        "press PUSH does bypass",
        "press PUSH does bypass  hold PUSH for 1 s does next preset undoes press",
    ),
)

CHORD_OF_ONE = Rule(
    "chord-of-one",
    Severity.STOP,
    "Two switches held together are two different ones.",
    changed("press PUSH does bypass", "hold PUSH + PUSH for 1 s does next preset"),
    changed("press PUSH does bypass", "hold PUSH for 1 s does next preset"),
)

UNDOES_NO_PRESS = Rule(
    "undoes-no-press",
    Severity.STOP,
    "`undoes press` gives back what the press at the start of a hold did. Only a hold has such a press.",
    changed("press PUSH does bypass", "press PUSH does bypass undoes press"),
    changed("press PUSH does bypass", "hold PUSH for 1 s does next preset undoes press"),
)

GESTURE_OUT_OF_PLACE = Rule(
    "gesture-out-of-place",
    Severity.STOP,
    "A gesture at power up is over before any mode is entered. So it can enter a mode, or do something in a"
    " mode that is always there; it can neither leave a mode nor do anything inside one that is entered.",
    followed_by('mode deep { enter press PUSH  leave hold PUSH at power up for 3 s }').replace(
        "press PUSH does bypass", ""
    ),
    followed_by('mode deep { enter hold PUSH at power up for 3 s  leave press PUSH }'),
)

POSITIONS_DIFFER = Rule(
    "positions-differ",
    Severity.STOP,
    "The positions of a toggle or rotary are the ways of its selector in order, or the off and on of a flag."
    " So there are as many of one as of the other.",
    changed("footswitch PUSH", 'toggle TONE "Tone" 3 positions\n  footswitch PUSH').replace(
        "LOUD sets level", "LOUD sets level  TONE sets bright"
    )
    + 'flag bright "Bright" { default off }\n',
    changed("footswitch PUSH", 'toggle TONE "Tone" 2 positions\n  footswitch PUSH').replace(
        "LOUD sets level", "LOUD sets level  TONE sets bright"
    )
    + 'flag bright "Bright" { default off }\n',
)

_TRIM = 'trim bias "Bias" { range -10 % .. 10 %  step 1 %  nominal 0 %  safe -10 % }\n'

TRIM_IN_REACH = Rule(
    "trim-in-reach",
    Severity.STOP,
    "A trim is set on the bench. A mode that feet can enter would let a player turn it on stage, so the mode"
    " that sets a trim is entered by a jumper on the board.",
    followed_by(_TRIM + 'mode deep { enter hold PUSH at power up for 3 s  LOUD sets bias }'),
    followed_by(_TRIM + 'mode deep { enter jumper "JP1"  LOUD sets bias }'),
)

NOT_ENTERED = Rule(
    "not-entered",
    Severity.STOP,
    "A mode without `enter` is always there. It is not hidden and cannot be left.",
    changed("mode main {", "mode main { hidden"),
    DOORBELL,
)

_LAMPS = ",\n    ".join(
    ", ".join(f'L{number} "{number}"' for number in range(first, min(first + 8, 252)))
    for first in range(0, 252, 8)
)

TOO_MANY_PARTS = Rule(
    "too-many-parts",
    Severity.STOP,
    "The generated C numbers controls, modes, gestures and what lamps show in one byte each, whose last"
    " value means none. So a product has at most 254 of each.",
    changed('lamp GLOW "Glow"', f'lamp GLOW "Glow",\n    {_LAMPS}'),
    DOORBELL,
)

RULES = (
    CONTROL_KIND,
    ITEM_KIND,
    ONE_ITEM,
    CONTROL_TWICE,
    GESTURE_TWICE,
    CHORD_OF_ONE,
    UNDOES_NO_PRESS,
    GESTURE_OUT_OF_PLACE,
    POSITIONS_DIFFER,
    TRIM_IN_REACH,
    NOT_ENTERED,
    TOO_MANY_PARTS,
)
