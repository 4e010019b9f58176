"""Rules about the facts of a product."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

PREFIX_FORM = Rule(
    "prefix-form",
    Severity.STOP,
    "The prefix begins every name in the generated C, so that two products, or a product and the chip"
    " maker's headers, can be compiled together. It is 1 to 8 lower-case letters.",
    changed("prefix db", "prefix doorbells_"),
    changed("prefix db", "prefix doorbell"),
)

HARDWARE_LIST = Rule(
    "hardware-list",
    Severity.STOP,
    "Board revisions are stored as their place in the list, in one byte whose last value means that none"
    " was said. So there are at most 255 of them, each is named once, and a name is not empty. Capitals"
    " do not make a difference between two names, because on a bench nobody hears it.",
    changed("revision 1", 'revision 1  hardware "B", "C", "b"'),
    changed("revision 1", 'revision 1  hardware "B", "C"'),
)

LANGUAGE_FORM = Rule(
    "language-form",
    Severity.STOP,
    "The language of the texts is said as in ISO 639: two or three lower-case letters, such as en or de.",
    changed("revision 1", "revision 1  language english"),
    changed("revision 1", "revision 1  language en"),
)

SUPPLY_FORM = Rule(
    "supply-form",
    Severity.STOP,
    "A supply has a voltage and a current above zero, and a polarity that goes with its kind: alternating"
    " current has none. The line is printed as a caution, because the same plug comes with other voltages"
    " and with the poles swapped.",
    changed("dc centre negative", "ac centre negative"),
    changed("dc centre negative", "ac no polarity"),
)

FIRST_OUTSIDE_SLOTS = Rule(
    "first-outside-slots",
    Severity.STOP,
    "The preset that a unit starts with has to be one of its slots, which are numbered from 1.",
    changed("revision 1", "revision 1  first preset 3"),
    changed("revision 1", "revision 1  first preset 2"),
)

_POWER_ON = 'selector power_on "Power on" { way bypassed "Bypassed"  way last "As it was"  default last }\n'

WAKES_FROM = Rule(
    "wakes-from",
    Severity.STOP,
    "How a unit wakes can be left to a selector. Its ways are named bypassed, engaged or last, since what"
    " the unit has to do is read from these names.",
    changed("revision 1", "revision 1  wakes from power_on") + _POWER_ON.replace("way last", "way latest")
    .replace("default last", "default latest"),
    changed("revision 1", "revision 1  wakes from power_on") + _POWER_ON,
)

RULES = (PREFIX_FORM, HARDWARE_LIST, LANGUAGE_FORM, SUPPLY_FORM, FIRST_OUTSIDE_SLOTS, WAKES_FROM)
