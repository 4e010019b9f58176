"""Rules about several products of one maker, checked together."""

from __future__ import annotations

from paramc.check.example import DOORBELL, changed
from paramc.check.midi_rules import with_midi
from paramc.text.diagnostic import Rule, Severity

_OTHER = 'product knocker "Knocker"', "code 0x4B4E", "prefix kn"


def _knocker(text: str, *kept: str) -> str:
    """Another product that is like the example, but for the facts that are kept."""
    for old, new in zip(('product doorbell "Doorbell"', "code 0x1234", "prefix db"), _OTHER, strict=True):
        text = text if old in kept else changed(old, new, text)
    return text


_DOORBELL = (("doorbell.paramc", DOORBELL),)

CODE_SHARED = Rule(
    "code-shared",
    Severity.STOP,
    "Two products of a line have one code. A dump says by its code which product it is of, so support would"
    " read one as the other.",
    _knocker(DOORBELL, "code 0x1234"),
    _knocker(DOORBELL),
    along=_DOORBELL,
)

PREFIX_SHARED = Rule(
    "prefix-shared",
    Severity.STOP,
    "Two products of a line have one prefix, so their generated C has the same names. The two cannot be built"
    " into one test rig, and a header that lies about can be taken for the other.",
    _knocker(DOORBELL, "prefix db"),
    _knocker(DOORBELL),
    along=_DOORBELL,
)

CC_DIFFERS = Rule(
    "cc-differs",
    Severity.MEND,
    "The same item has one MIDI controller in one product and another in the next. Players with both have to"
    " remember two, and a rig that was set up for one moves the wrong thing on the other.",
    _knocker(with_midi("channel 1  cc 21 sets tone")),
    _knocker(with_midi("channel 1  cc 20 sets tone")),
    along=(("doorbell.paramc", with_midi("channel 1  cc 20 sets tone")),),
)

IDENTITY_DIFFERS = Rule(
    "identity-differs",
    Severity.MEND,
    "A bench or a desk reads the identity first, before it knows which product lies there. So identity is"
    " alike in all products of a line: as many characters of serial, one order, one checksum, and at one"
    " address where the memories have pages of one size.",
    _knocker(changed("identity 2 copies", "identity 2 copies  serial 12 characters")),
    _knocker(DOORBELL),
    along=_DOORBELL,
)

GESTURE_DIFFERS = Rule(
    "gesture-differs",
    Severity.MEND,
    "The same gesture of a switch with the same label does one thing in one product and another in the next."
    " A foot learns a gesture once. Switches are taken for the same by what is printed beside them.",
    _knocker(changed("press PUSH does bypass", "press PUSH does flip bright"))
    + 'flag bright "Bright" { default off }\n',
    _knocker(DOORBELL),
    along=_DOORBELL,
)

RULES = (CODE_SHARED, PREFIX_SHARED, CC_DIFFERS, IDENTITY_DIFFERS, GESTURE_DIFFERS)
