"""Layouts for the tests of images: the examples, and a small product with everything that they lack."""

from __future__ import annotations

from functools import cache

from paramc.layout.layout import Kind, Layout, Record
from paramc.release.freeze import freeze
from paramc.release.release import Release
from paramc.text.diagnostic import Severity
from paramc.text.source import Source
from tests.stories import text_of
from tests.understood import understand

GRAVEL_WEIR = """
product gravel_weir "Gravel \\"Weir\\"" {
  code 0x4757  prefix gw  revision 7  hardware "A", "B2", "C"  wakes bypassed  first preset 2
  supply 9 V dc centre negative 50 mA  inside low voltage
}
chip {
  size 512 bytes  page 16 bytes  endurance 1_000_000 writes  brown-out 2.7 V
  order big  blank 0x00  hex at 0x810000  leave first 16 bytes  checksum crc-16/arc
}
holds {
  identity 2 copies  serial 6 characters
  bench 3 copies  growth 2 bytes  if lost mute
  setup 2 copies  saves 1 per day
  presets 5 slots  spare 1  names 12 bytes  saves 5 per day
  state 3 copies  saves 5 per day
}
panel {
  knob DEPTH "Depth", SPEED "Speed" { adc 8 bits  measured  turn 270 deg }
  knob PICK "Pick" { adc 8 bits }
  footswitch FOOT "Bypass"
}
param depth "Depth" { range 20 Hz .. 2000 Hz  taper geometric  coded 8 bits }
param speed "Speed" { range 10 Hz .. 0.1 Hz  noon 1 Hz  coded 6 bits  off at stop }
param floor "Floor" { range 0 dBu .. -40 dBu  step 2.5 dB  off at stop }
selector pick "Pick" { way low "Low"  way mid "Mid"  way high "High"  default mid }
flag bright "Bright" { default off }
param glow "Glow" { range 0 % .. 100 %  step 5 %  kept once }
selector lamp "Lamp" { way dim "Dim"  way full "Full"  default dim  kept once }
trim bias "Bias" {
  range 100 .. 0  step 1  nominal 50  plausible 20 .. 80  safe 50
  probe "TP1"  aim 4.5 V  slope 0.03
}
trim offset "Offset" { range -10 mV .. 10 mV  step 0.5 mV  nominal 0 mV  safe 0 mV }
mode main {
  DEPTH sets depth   SPEED sets speed   PICK sets pick
  press FOOT does bypass
}
preset 1 "Low water" { depth 40 Hz  speed off  floor -10 dBu }
preset 2 "Übergang" { pick high  bright on }
preset 4 "Spring tide" { depth at 12:00 }
"""
"""Coded and falling ranges, names, a big-endian memory that is erased to zeros, three boards."""


@cache
def example(name: str) -> Layout:
    """The layout of a product in examples/."""
    return planned(name, text_of(name))


@cache
def gravel_weir() -> Layout:
    return planned("gravel_weir", GRAVEL_WEIR)


@cache
def released(name: str) -> Release:
    """The first release of a product, example or gravel_weir."""
    text = GRAVEL_WEIR if name == "gravel_weir" else text_of(name)
    return freeze(planned(name, text, trial=False), [Source(f"{name}.paramc", text)])


def planned(name: str, text: str, trial: bool = True) -> Layout:
    """The layout of a product's text, which must draw no stop."""
    answer = understand(Source(f"{name}.paramc", text), trial=trial)
    assert answer.value is not None, [
        found.sentence for found in answer.diagnostics if found.severity is Severity.STOP
    ]
    return answer.value.layout


def record(layout: Layout, kind: Kind) -> Record:
    found = layout.record(kind)
    assert found is not None
    return found


NAMES = ("teasel_pinch", "long_causeway", "hob_and_kiln")


def every_layout() -> tuple[Layout, ...]:
    return (*map(example, NAMES), gravel_weir())
