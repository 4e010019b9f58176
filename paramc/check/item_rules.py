"""Rules about items beyond their scales and values, and all rules of this half in one tuple."""

from __future__ import annotations

from paramc.check import engine_rules, expression_rules, preset_rules, scale_rules, taper_rules, value_rules
from paramc.check.example import followed_by
from paramc.text.diagnostic import Rule, Severity

_FEEL = 'selector feel "Feel" {{ {}  default straight }}'
_HUM = 'trim hum "Hum" {{ range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB  {} }}'

SELECTOR_WAYS = Rule(
    "selector-ways",
    Severity.STOP,
    "A selector is a choice, and a choice needs two ways at least.",
    followed_by(_FEEL.format('way straight "Straight"')),
    followed_by(_FEEL.format('way straight "Straight"  way swung "Swung"')),
)

WAY_NUMBERS = Rule(
    "way-numbers",
    Severity.STOP,
    "Either every way of a selector has a number or none has, because whatever uses the numbers has to find"
    " one whichever way is chosen.",
    followed_by(_FEEL.format('way straight "Straight" = 1/2  way swung "Swung"')),
    followed_by(_FEEL.format('way straight "Straight" = 1/2  way swung "Swung" = 2/3')),
)

ROLE_DIMENSION = Rule(
    "role-dimension",
    Severity.STOP,
    "What a param acts as has to fit what it is measured in: a delay time is a time, a loop gain a share or"
    " a ratio, a rate a frequency or a tempo. Cautions for the player hang on these roles, so a wrong one"
    " would say the wrong thing or keep silent.",
    followed_by('param speed "Speed" { range 1 Hz .. 9 Hz  step 1 Hz  acts as delay time }'),
    followed_by('param speed "Speed" { range 1 Hz .. 9 Hz  step 1 Hz  acts as rate }'),
)

PLAUSIBLE_OUTSIDE_RANGE = Rule(
    "plausible-outside-range",
    Severity.STOP,
    "What is plausible for a trim is a part of its range: a measured value outside the range is refused"
    " anyway, and one inside it that is not plausible points to a fault of the unit or the jig.",
    followed_by(_HUM.format("plausible -4 dB .. 2 dB")),
    followed_by(_HUM.format("plausible -3 dB .. 2 dB")),
)

SLOPE_ZERO = Rule(
    "slope-zero",
    Severity.STOP,
    "The slope of a trim is how far the reading moves for one unit of the trim. The bench divides by it, and"
    " a trim that does not move its reading cannot be set by it.",
    followed_by(_HUM.format('probe "TP1"  aim 0 mV  slope 0')),
    followed_by(_HUM.format('probe "TP1"  aim 0 mV  slope -0.5 mV')),
)

READING_INCOMPLETE = Rule(
    "reading-incomplete",
    Severity.STOP,
    "An aim is a reading somewhere, so it needs a probe; a slope is counted in the aim's unit, so it needs an"
    " aim.",
    followed_by(_HUM.format("aim 0 mV")),
    followed_by(_HUM.format('probe "TP1"  aim 0 mV')),
)

RULES = (
    *scale_rules.RULES,
    *taper_rules.RULES,
    *value_rules.RULES,
    SELECTOR_WAYS,
    WAY_NUMBERS,
    ROLE_DIMENSION,
    PLAUSIBLE_OUTSIDE_RANGE,
    SLOPE_ZERO,
    READING_INCOMPLETE,
    *engine_rules.RULES,
    *expression_rules.RULES,
    *preset_rules.RULES,
)
