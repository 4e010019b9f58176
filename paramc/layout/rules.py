"""The rules that only a plan can answer: lengths of records, and what a knob's readings give."""

from __future__ import annotations

from paramc.text.diagnostic import Rule, Severity

_DOORBELL = """\
product doorbell "Doorbell" {
  code 0x1234  prefix db  revision 1
  supply 9 V dc centre negative 20 mA  inside low voltage
}
chip { size 128 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V }
holds {
  identity 2 copies
  presets 2 slots spare 2 saves 10 per day
  state 4 copies saves 20 per day
}
panel {
  knob LOUD "Loud" { adc 10 bits }
  footswitch PUSH "Push"
  lamp GLOW "Glow"
}
param level "Level" { range 0 % .. 100 %  step 1 % }
mode main { LOUD sets level  press PUSH does bypass  shows GLOW on }
"""


def _with(old: str, new: str) -> str:
    assert _DOORBELL.count(old) == 1
    return _DOORBELL.replace(old, new)


def with_blocks(*blocks: str) -> str:
    """The example in a larger memory, with more blocks, a line each."""
    return _with("size 128 bytes", "size 512 bytes") + "".join(f"{block}\n" for block in blocks)


DOES_NOT_FIT = Rule(
    "does-not-fit",
    Severity.STOP,
    "The clear zone and all places together are longer than the memory. Each place takes whole pages,"
    " because a write that is cut short can spoil all of its page. The sum is shown a line a kind, with"
    " what would make it fit.",
    _with("size 128 bytes", "size 64 bytes"),
    _DOORBELL,
)

NOTHING_TO_HOLD = Rule(
    "nothing-to-hold",
    Severity.MEND,
    "Copies are asked for of a kind of record that nothing stands in: bench holds trims and measured"
    " ends, setup what is kept once. Such a kind gets no record. A later revision may still add it"
    " behind the last place, so nothing needs to be kept free for it.",
    _with("identity 2 copies", "identity 2 copies  bench 2 copies"),
    _with("identity 2 copies", "identity 2 copies  bench 2 copies").replace(
        "adc 10 bits", "adc 10 bits  measured"
    ),
)

WEAR_SHORT = Rule(
    "wear-short",
    Severity.MEND,
    "At the saves a day that the file says, the hardest-worked cell reaches the memory's endurance in"
    " less than 15 years. A save writes the checksum's cells twice, or cycles its page three times, and"
    " goes to the next place each time, so one place more spreads the wear further.",
    _with("saves 20 per day", "saves 40 per day"),
    _DOORBELL,
)

CHECKSUM_TOO_SHORT = Rule(
    "checksum-too-short",
    Severity.MEND,
    "Where one write spoils a page of several bytes, a cut can leave a page of garbage, which only the"
    " checksum's width stands against: 8 bits let one in 256 pass. And past a length that depends on"
    " the polynomial two flipped bits can cancel out, so that a record with two is taken for sound.",
    _with("brown-out 2.7 V", "brown-out 2.7 V  checksum crc-8/autosar").replace(
        "size 128 bytes  page 1 byte", "size 128 bytes  page 8 bytes"
    ),
    _with("brown-out 2.7 V", "brown-out 2.7 V  checksum crc-8/autosar"),
)

_ACCEPTED = 'accept codes-out-of-reach for level because "Presets use the codes between."\n'

NOON_OUT_OF_REACH = Rule(
    "noon-out-of-reach",
    Severity.MEND,
    "A converter has an even number of readings, so none of them is exactly half travel. The one that"
    " counts as noon is half a count above it, and where an item has many codes for one count, that"
    " reading gives another code than noon's: with the knob straight up the player does not get the"
    " value that the file calls noon.",
    _with("step 1 %", "coded 12 bits") + _ACCEPTED,
    _with("step 1 %", "coded 8 bits"),
)

RULES = (DOES_NOT_FIT, NOTHING_TO_HOLD, WEAR_SHORT, CHECKSUM_TOO_SHORT, NOON_OUT_OF_REACH)
