"""What can be wrong with a text before it has any meaning."""

from __future__ import annotations

from paramc.text.diagnostic import Rule, Severity

FIVE_LINES = """\
product doorbell "Doorbell" { code 0x1234  prefix db  revision 1 }
chip { size 128 bytes  page 1 byte  endurance 100_000 writes }
holds { identity 1 copy  presets 2 slots spare 1  state 2 copies }
param level "Level" { range 0 % .. 100 %  step 1 % }
"""

SYNTAX = Rule(
    "syntax",
    Severity.STOP,
    "A word, number or mark stands where the language has no use for it. Only the first such place"
    " of a file is told, because what follows it cannot be read with certainty.",
    FIVE_LINES.replace("range 0 %", "rnage 0 %"),
    FIVE_LINES,
)

NUMBER_FORM = Rule(
    "number-form",
    Severity.STOP,
    "Numbers are written as digits with a point and digits on both sides of it, and underscores"
    " between groups of three: 0.5, 1200, 1_000_000. Codes and addresses may be hexadecimal: 0x5450.",
    FIVE_LINES.replace("step 1 %", "step .5 %"),
    FIVE_LINES.replace("step 1 %", "step 0.5 %"),
)

DECIMAL_COMMA = Rule(
    "decimal-comma",
    Severity.STOP,
    "A decimal comma is never guessed at, because 1,200 may mean one and a fifth or twelve hundred."
    " Write a point.",
    FIVE_LINES.replace("step 1 %", "step 0,5 %"),
    FIVE_LINES.replace("step 1 %", "step 0.5 %"),
)

TEXT_FORM = Rule(
    "text-form",
    Severity.STOP,
    'A text stands between double quotes on one line. Inside it \\" is a quote, \\\\ a backslash and'
    " \\n a line end. Control characters and marks that turn the reading direction are not taken,"
    " because they could hide what a label says.",
    FIVE_LINES.replace('"Level"', '"Le\\tvel"'),
    FIVE_LINES.replace('"Level"', '"Le \\"v\\" el"'),
)

CLOCK_FORM = Rule(
    "clock-form",
    Severity.STOP,
    "A clock position is where a knob points: 7:00 is fully anticlockwise, 12:00 is up, 5:00 is fully"
    " clockwise. A knob does not point to what lies between 5:00 and 7:00.",
    FIVE_LINES.replace('2 slots', '2 slots') + 'preset 1 "Down" { level at 6:15 }\n',
    FIVE_LINES + 'preset 1 "Half" { level at 9:30 }\n',
)

FILE_FORM = Rule(
    "file-form",
    Severity.STOP,
    "A product file is UTF-8 text in normal form C, at most 1 MiB long, with at most 10 000 blocks,"
    " braces and parentheses at most 50 deep, at most 65 536 characters between two braces, and"
    " expressions of at most 500 parts.",
    FIVE_LINES + 'promise "deep" at noon is ' + "(" * 51 + "level" + ")" * 51 + " <= 3\n",
    FIVE_LINES,
)

RULES = (SYNTAX, NUMBER_FORM, DECIMAL_COMMA, TEXT_FORM, CLOCK_FORM, FILE_FORM)
