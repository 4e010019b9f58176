"""A product of a few lines that nothing is wrong with: what the examples of rules are cut from."""

from __future__ import annotations

DOORBELL = """\
product doorbell "Doorbell" {
  code 0x1234  prefix db  revision 1
  supply 9 V dc centre negative 20 mA  inside low voltage
}
chip { size 256 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V }
holds { identity 2 copies  presets 2 slots spare 1  state 4 copies }
panel {
  knob LOUD "Loud" { adc 10 bits }
  footswitch PUSH "Push"
  lamp GLOW "Glow"
}
param level "Level" { range 0 % .. 100 %  step 1 % }
mode main { LOUD sets level  press PUSH does bypass  shows GLOW on }
"""
"""Free of stops and of mends."""


def changed(old: str, new: str, text: str = DOORBELL) -> str:
    """The text with its one stretch `old` in other words; ValueError where it is not there just once."""
    if text.count(old) != 1:
        raise ValueError(f"{old!r} stands {text.count(old)} times in the example")
    return text.replace(old, new)


def followed_by(*blocks: str) -> str:
    """The example with more blocks, a line each."""
    return DOORBELL + "".join(f"{block}\n" for block in blocks)
