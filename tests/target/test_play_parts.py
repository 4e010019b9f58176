"""The C of the panel with any part of it alone, and with none: silent in every compiler."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.target.chips import arm_object, avr_object, host_object, size
from tests.target.emitted import emit, layout_of

PRODUCT = """
product parts "Parts" {
  code 0x5052 prefix pt revision 1 supply 9 V dc centre negative 60 mA inside low voltage
}
chip { size 1 KiB page 1 byte endurance 100_000 writes brown-out 2.7 V }
holds { identity 2 copies setup 2 copies presets 4 slots spare 1 state 4 copies }
panel {
  knob LEVEL "Level" { adc 10 bits after recall meet }
  footswitch FOOT "Bypass", TOE "Next"
  pedal EXP "Expression" { adc 12 bits ends 100 .. 3900 learned unplugged 4070 .. 4095 }
  lamp STATUS "Status"
}
param level "Level" { range 0 % .. 100 % step 1 % }
param mix "Mix" { range 0 % .. 100 % step 1 % }
param time "Time" { range 20 ms .. 1200 ms noon 350 ms step 1 ms acts as delay time }
selector beat "Subdivision" { way half "1/2" = 2 way full "1/4" = 1 way dotted "3/8" = 3/4 default full }
selector action "Hold action" { way freeze "Freeze" way swell "Swell" default freeze kept once }
selector target "Target" { way level "Level" way mix "Mix" default level kept once }
flag trails "Trails" { default on }
param heel "Heel" { range 0 % .. 100 % step 1 % default 0 % kept once }
param toe "Toe" { range 0 % .. 100 % step 1 % default 100 % kept once }
param taps_averaged "Taps" { range 2 taps .. 6 taps step 1 taps default 3 taps kept once }
param channel "Channel" { range 0 .. 16 step 1 default 1 kept once }
"""

PARTS = {
    "nothing": "",
    "pedal to one": "mode main { EXP sets level from heel to toe }",
    "press": "mode main { press FOOT does bypass }",
    "flip": "mode main { press FOOT does flip trails }",
    "hold": "mode main { hold FOOT for 0.6 s does while held action at most 12 s }",
    "chord": "mode main { hold FOOT + TOE for 1 s does next preset }",
    "hidden": "mode deep { enter hold FOOT + TOE at power up for 3 s leave after 20 s LEVEL sets toe }",
    "jumper": 'mode service { hidden enter jumper "JP2" LEVEL sets toe }',
    "knob": "mode main { LEVEL sets level }",
    "pedal": "mode main { EXP sets level }",
    "pedal by": "mode main { EXP sets level, mix by target from heel to toe }",
    "learn": "mode main { EXP sets level }"
    " mode deep { enter press FOOT leave press FOOT press TOE does learn EXP }",
    "tap": "tap TOE sets time { taps 2 gap 2 s fold halve }",
    "tap by": "tap TOE sets time by beat { taps from taps_averaged gap 2 s fold stop }",
    "channel": "midi { channel 1 }",
    "every channel": "midi { channel from channel cc 20 sets level }",
    "coarse": "midi { channel 1 cc 20 sets level cc 21 sets trails }",
    "fine": "midi { channel 1 cc 20 fine sets level }",
    "programs": "midi { channel 1 program 1 .. 2 sets preset }",
    "later programs": "midi { channel 16 cc 7 sets level program 5 .. 6 sets preset }",
}

PANELS = {
    "leap": ("after recall meet", "after recall leap"),
    "converge": ("after recall meet", "after recall converge"),
    "nothing after recall": ("after recall meet", ""),
    "measured knob": ("after recall meet", "after recall meet measured noise 3 counts"),
    "plain pedal": ("learned unplugged 4070 .. 4095", ""),
    "learned pedal": ("learned unplugged 4070 .. 4095", "learned"),
    "unplugged pedal": ("learned unplugged", "unplugged"),
    "reversed pedal": ("ends 100 .. 3900", "ends 3900 .. 100"),
}
"""What takes the place of what in the panel."""


@pytest.mark.slow
@pytest.mark.needs("gcc", "clang", "avr-gcc", "arm-gcc")
@pytest.mark.parametrize("part", PARTS)
def test_a_part_alone_builds_silently(part: str, tmp_path: Path) -> None:
    builds_silently(PRODUCT + PARTS[part], tmp_path)


@pytest.mark.slow
@pytest.mark.needs("gcc", "clang", "avr-gcc", "arm-gcc")
@pytest.mark.parametrize("panel", PANELS)
def test_a_panel_with_another_control_builds_silently(panel: str, tmp_path: Path) -> None:
    was, becomes = PANELS[panel]
    assert was in PRODUCT
    builds_silently(
        PRODUCT.replace(was, becomes) + "mode main { LEVEL sets mix EXP sets level press FOOT does bypass }",
        tmp_path,
    )


def builds_silently(product: str, folder: Path) -> None:
    emitted = emit(layout_of(product), folder)
    host_object(emitted.source, compiler="gcc", language="c99")
    host_object(emitted.source, compiler="clang", language="c++")
    for built in (avr_object(emitted.source), arm_object(emitted.source, "cortex-m0")):
        assert (size(built).data, size(built).bss) == (0, 0)
