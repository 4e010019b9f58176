"""An invented product with every conversion, taper and law of a potentiometer."""

from __future__ import annotations

from paramc.model.answers import DEEPEST

# Nested as deep as an expression may be: a call and what it is of, over and over.
DEEP = "abs(" * (DEEPEST - 1) + "value" + ")" * (DEEPEST - 1)

CURVES = f"""
product curves "Curves" {{
  code 0x4355 prefix cv revision 1 supply 9 V dc centre negative 60 mA inside low voltage wakes bypassed
}}
chip {{ size 512 bytes page 1 byte endurance 100_000 writes brown-out 2.7 V }}
holds {{ identity 2 copies presets 2 slots spare 1 state 3 copies setup 2 copies saves 1 per day }}
panel {{
  knob A "A" {{ adc 12 bits pot audio 15 % }}
  knob B "B" {{ adc 12 bits pot s 10 % }}
  knob C "C" {{ adc 12 bits pot points {{ 7:00 0 %  12:00 30 %  5:00 100 % }} ends 4000 .. 60 }}
  footswitch F "F"
}}
param pole "Pole" {{
  range 80 Hz .. 8000 Hz taper geometric coded 8 bits engine q31 as pole at 32 kHz within 1 %
}}
param pitch "Pitch" {{ range -1200 cents .. 1200 cents step 25 cents engine uq2.14 as pitch within 2 cents }}
param tail "Tail" {{
  range 0.2 s .. 8 s taper geometric coded 8 bits engine uq1.31 as decay at 32 kHz within 1 %
}}
param deep "Deep" {{ range 0 % .. 100 % step 1 % flat for 6 % of travel engine u8 is {DEEP} }}
param bend "Bend" {{
  range 100 .. 0 step 1 taper s 8 % engine s16 is 1000 * sin(value / 40) - value^2 / 7 within 0.5 or nearest
  prefer speed
}}
param rate "Rate" {{ range 0.1 Hz .. 8 Hz coded 8 bits engine u32 as phase at 17 Hz }}
flag on "On" {{ default on kept once engine u8 is 3 * value }}
mode main {{ press F does bypass A sets deep B sets bend C sets pitch }}
"""
