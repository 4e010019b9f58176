"""Rules about names: their form, names given twice or to nothing, names that C cannot take."""

from __future__ import annotations

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.text.diagnostic import Rule, Severity

NAME_FORM = Rule(
    "name-form",
    Severity.STOP,
    "Names become part of names in C. So they are at most 20 characters long, neither begin nor end with an"
    " underscore, and have no two underscores in a row, which C++ keeps for itself. A word that is a unit or"
    " a function (ms, cents, sqrt, value) is no name, because it could not be told from one in a quantity"
    " or an expression.",
    followed_by('flag taps "Taps" { default off }'),
    followed_by('flag tapping "Taps" { default off }'),
)

NAME_TWICE = Rule(
    "name-twice",
    Severity.STOP,
    "Two things of one kind have one name. Params, selectors, flags and trims share their names; controls,"
    " modes and the ways of one selector have their own.",
    followed_by('flag level "Level on" { default off }'),
    followed_by('flag level_on "Level on" { default off }'),
)

UNKNOWN_NAME = Rule(
    "unknown-name",
    Severity.STOP,
    "Something is spoken of that the file does not have. The message says the nearest name that it has.",
    changed("LOUD sets level", "LOUD sets lever"),
    DOORBELL,
)

C_WORD = Rule(
    "c-word",
    Severity.STOP,
    "Names of items become members of structures in C and columns in tables. A keyword of C or C++, a name"
    " that their standard headers define as a macro, and the words by which records call their own fields"
    " cannot be taken for one.",
    followed_by('flag switch "Switch" { default off }'),
    followed_by('flag switched "Switch" { default off }'),
)

_CLASHING = (
    'selector mod "Mod" {{ way shape_{0} "Shape {0}"  way other "Other"  default other }}',
    'selector mod_shape "Mod shape" {{ way {0} "{0}"  way other "Other"  default other }}',
)

C_NAME_CLASH = Rule(
    "c-name-clash",
    Severity.STOP,
    "Two names fall together in the generated C, or one meets a name that the C standard keeps for itself."
    " Ways become constants of prefix, item and way in capitals; measured ends become members named after"
    " their control, such as loud_low, loud_high and loud_measured.",
    followed_by(_CLASHING[0].format("sine"), _CLASHING[1].format("sine")),
    followed_by(_CLASHING[0].format("sine"), _CLASHING[1].format("triangle")),
)

RULES = (NAME_FORM, NAME_TWICE, UNKNOWN_NAME, C_WORD, C_NAME_CLASH)
