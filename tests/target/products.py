"""Invented products that the tests of the emitted C are about."""

from __future__ import annotations

FACTS = 'supply 9 V dc centre negative 60 mA inside low voltage'

PINCH = f"""
product teasel_pinch "Teasel Pinch" {{
  code 0x5450 prefix tp revision 3 hardware "A", "B rev. 2" {FACTS}
  about "Optical-feel compressor */ not the end /* nor a beginning ??/ and no \\\\ trap \\\\"
  wakes from power_on
}}
chip {{ size 256 bytes page 1 byte endurance 100_000 writes brown-out 2.7 V }}
holds {{
  identity 2 copies serial 10 characters
  bench 2 copies if lost mute
  setup 2 copies growth 1 byte
  presets 6 slots spare 2 growth 1 byte saves 5 per day
  state 4 copies saves 30 per day
}}
panel {{
  knob SQUEEZE "Squeeze", RATIO "Ratio", ATTACK "Attack" {{ adc 10 bits measured noise 4 counts }}
  knob LEVEL "Level" {{ adc 8 bits ends 250 .. 4 measured turn 270 deg }}
  toggle TONE "Tone" 3 positions
  footswitch FOOT "Bypass", TOE "Next"
  lamp STATUS "Status"
}}
param squeeze "Squeeze" {{
  range -6 dBu .. -42 dBu noon -24 dBu step 0.5 dB
  acts as threshold engine s16 where 1 is 0.1 dB within 0.1 dB
}}
param ratio "Ratio" {{ range 1.5:1 .. 20:1 noon 4:1 step 0.1:1 engine uq5.11 where 1 is 1:1 within 0.05:1 }}
param attack "Attack" {{
  range 0.5 ms .. 80 ms noon 8 ms step 0.1 ms engine u16 as samples at 48 kHz within 0.05 ms
}}
param level "Level" {{
  range -60 dB .. 12 dB noon 0 dB step 0.5 dB off at stop
  acts as level engine uq3.13 as gain within 0.05 dB or nearest
  warning "Loud above noon */ listen low ??/"
}}
param swell "Swell" {{
  range 20 Hz .. 2000 Hz taper geometric coded 9 bits engine u32 as phase at 48 kHz within 1 %
}}
selector tone "Tone" {{ way warm "Warm \\"wool\\"" way flat "Flat" way bright "Bright ??/" default flat }}
param dry "Dry blend" {{
  range 0 % .. 100 % step 1 % default 0 % kept once engine uq1.15 where 1 is 100 % within 0.1 %
}}
selector low_cut "Sidechain low cut" {{
  way off "off" = 0 Hz way c80 "80" = 80 Hz way c120 "120" = 120 Hz way c200 "200" = 200 Hz
  way c320 "320" = 320 Hz
  default c80 kept once engine u32 as phase at 48 kHz
}}
flag makeup "Auto make-up" {{ default on kept once }}
selector power_on "Power-on" {{
  way engaged "engaged" way bypassed "bypassed" way last "last" default last kept once
}}
trim vca_null "VCA null" {{
  range -128 counts .. 127 counts step 1 counts nominal 0 counts safe 10 counts engine s8 where 1 is 1 counts
}}
trim unity "Unity level" {{
  range -2 dB .. 2 dB step 0.05 dB nominal 0 dB engine uq2.14 as gain within 0.02 dB
}}
mode main {{
  SQUEEZE sets squeeze RATIO sets ratio ATTACK sets attack LEVEL sets level TONE sets tone
  press FOOT does bypass
  hold FOOT for 0.8 s does next preset undoes press
}}
mode deep "Deep */" {{
  hidden
  enter hold FOOT + TOE at power up for 3 s
  leave press FOOT or after 20 s
  shows STATUS blinks 1.5 Hz "slow blink"
  SQUEEZE sets dry RATIO sets low_cut ATTACK sets makeup LEVEL sets power_on
  hold TOE for 2 s does reset look twice
}}
mode bench "Bench" {{ hidden enter jumper "JP2 */" SQUEEZE sets vca_null LEVEL sets unity shows STATUS on }}
preset 1 "All at noon" {{ }}
preset 2 "Barely there" {{ squeeze -14 dBu ratio 2:1 attack 20 ms level 1 dB }}
preset 4 "Brick on a string */" {{ squeeze -36 dBu ratio 20:1 attack 1 ms level off tone bright }}
"""

CAUSEWAY = f"""
product long_causeway "Long Causeway" {{
  code 0x4C43 prefix causeway revision 1 {FACTS} wakes as it was first preset 3
}}
chip {{
  size 8 KiB page 32 bytes endurance 1_000_000 writes brown-out 2.7 V order big blank 0x00
  checksum crc-32/iso-hdlc
}}
holds {{
  identity 2 copies serial 7 characters
  bench 2 copies growth 2 bytes if lost bypass
  presets 20 slots spare 3 growth 4 bytes names 24 bytes saves 10 per day
  state 8 copies saves 40 per day
}}
panel {{
  knob TIME "Time", MIX "Mix", RATE "Rate" {{ adc 12 bits ends 40 .. 4050 noise 18 counts }}
  rotary BEAT "Subdivision" 5 positions
  footswitch LEFT "Bypass", RIGHT "Tap"
}}
param time "Time" {{
  range 20 ms .. 1200 ms noon 350 ms step 1 ms acts as delay time engine u16 as samples at 32 kHz within 1 ms
}}
param repeats "Repeats" {{
  range 0 % .. 110 % noon 45 % step 0.5 % acts as loop gain limiter "soft knee"
  engine q15 where 1 is 200 % within 0.1 %
}}
param mix "Mix" {{
  range 0 % .. 100 % noon 35 % coded 10 bits engine q7 where 1 is 101 % within 0.5 % or nearest
}}
param tilt "Tilt" {{ range -100 % .. 100 % step 2 % engine s8 where 1 is 1 % }}
param rate "Rate" {{
  range 0.05 Hz .. 8 Hz noon 0.6 Hz step 0.01 Hz acts as rate
  engine u32 as phase at 32 kHz within 1 % or nearest
}}
selector beat "Subdivision" {{
  way half "1/2" = 2 way full "1/4" = 1 way dotted "3/8" = 3/4 way eighth "1/8" = 1/2 way triplet "1/3" = 1/3
  default full engine uq2.14 where 1 is 1
}}
flag trails "Trails" {{ default on }}
trim loop_gain "Loop gain" {{
  range -3 dB .. 3 dB step 0.05 dB nominal 0 dB safe -1 dB engine uq2.14 as gain within 0.02 dB
}}
mode main {{
  TIME sets time MIX sets mix RATE sets rate BEAT sets beat
  press LEFT does bypass
  hold LEFT for 2 s does flip trails undoes press
  hold LEFT + RIGHT for 1 s does reset slot undoes press twice
}}
mode more "More" {{ enter hold RIGHT for 0.6 s leave after 20 s TIME sets repeats MIX sets tilt }}
preset 1 "All at noon" {{ }}
preset 2 "Nebel überm Moor ~ 24 b" {{ time 95 ms repeats 12 % tilt 10 % }}
preset 3 "Slap, later" like 2 {{ time 140 ms trails off beat triplet }}
"""

DOORBELL = f"""
product doorbell "Doorbell" {{ code 0x1234 prefix db revision 1 {FACTS} wakes engaged }}
chip {{ size 128 bytes page 1 byte endurance 100_000 writes brown-out 2.7 V checksum crc-8/maxim-dow }}
holds {{ identity 1 copy presets 1 slots spare 1 state 2 copies }}
param level "Level" {{ range 0 % .. 100 % step 1 % }}
"""

BARE = f"""
product pier_light "Pier Light" {{ code 0x00FF prefix p revision 254 {FACTS} }}
chip {{
  size 512 bytes page 8 bytes endurance 100_000 writes brown-out 2.7 V order big
  checksum crc-24/openpgp
}}
holds {{ identity 2 copies setup 3 copies presets 9 slots spare 1 names 3 bytes state 2 copies }}
panel {{ knob ONE "One" {{ adc 16 bits ends 65535 .. 0 measured noise 200 counts }} }}
flag night "Night" {{ default off kept once }}
param full "Full" {{ range -2000000000 .. 2000000000 step 4000000 kept once engine s32 where 1 is 1 }}
mode main {{ ONE sets night }}
"""

# More items than a byte can number, more bytes of a structure than a byte can count.
ORGAN = f"""
product tide_organ "Tide Organ" {{ code 0x0160 prefix organ revision 2 {FACTS} }}
chip {{ size 1 KiB page 1 byte endurance 100_000 writes brown-out 2.7 V checksum crc-16/dnp }}
holds {{ identity 1 copy presets 1 slots spare 1 names 5 bytes state 2 copies setup 2 copies }}
""" + "\n".join(
    f'param pipe_{at} "Pipe {at}" {{ range 0 .. {4 + at} step 1 default {at % 5}'
    f'{" kept once" if at % 3 == 0 else ""}{" engine s16 where 1 is 0.5" if at % 40 == 0 else ""} }}'
    for at in range(262)
) + """
preset 1 "Low" { pipe_1 5 pipe_149 99 pipe_260 261 }
"""

ALL = {
    "pinch": PINCH, "causeway": CAUSEWAY, "doorbell": DOORBELL, "pier_light": BARE, "tide_organ": ORGAN,
}  # fmt: skip
RELEASED = ("pinch", "causeway", "doorbell")
"""Those that are also built as a release."""
