"""Items: which statement goes where, ranges, grids, tapers, defaults, selectors, flags, trims."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import changed, followed_by
from paramc.check.items import MOST_WAYS, ROLE_DIMENSIONS, WHERE
from paramc.model.items import Flag, Item, Note, Param, Role, Selector, Signal, Trim
from paramc.model.scale import Coded, Geometric, SCurve, Stepped, Straight, ThreePoint
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import NO_UNIT, SPELLINGS
from paramc.text.diagnostic import Diagnostic
from tests.unit.check.told import checked, only, product_of, stops


def item(block: str) -> Item:
    """The item of a block that nothing is wrong with."""
    return product_of(followed_by(block)).items[-1]


def param(lines: str) -> Param:
    made = item(f'param rise "Rise" {{ {lines} }}')
    assert isinstance(made, Param)
    return made


def wrong(lines: str, kind: str = "param") -> Diagnostic:
    """The one thing that is wrong with an item."""
    [found] = checked(followed_by(f'{kind} rise "Rise" {{ {lines} }}')).diagnostics
    assert found.subject == "rise"
    return found


# ---- which statement goes where

_PARAM_LINES = {
    "range": "range 1 ms .. 9 ms", "step": "step 1 ms", "coded": "coded 8 bits", "taper": "taper linear",
    "noon": "noon 5 ms", "off at stop": "off at stop", "acts as": "acts as delay time",
    "limiter": 'limiter "soft"', "nominal": "nominal 5 ms", "plausible": "plausible 2 ms .. 8 ms",
    "probe": 'probe "TP1"', "aim": "aim 1 V", "slope": "slope 2", "safe": "safe 1 ms",
    "way": 'way one "One"', "default": "default off", "kept once": "kept once", "engine": "engine u8",
    "caution": 'caution "Loud."', "warning": 'warning "Loud."', "danger": 'danger "Loud."',
    "help": 'help "Turn."', "flat": "flat for 6 % of travel", "prefer speed": "prefer speed",
}  # fmt: skip
_OF_HISTORY = {"since", "was", "narrowed"}
_BARE = {
    "param": "range 1 ms .. 9 ms  step 1 ms",
    "selector": 'way one "One"  way two "Two"  default one',
    "flag": "default on",
    "trim": "range 1 ms .. 9 ms  step 1 ms  nominal 5 ms",
}


def test_every_statement_is_placed() -> None:
    assert set(WHERE) == set(_PARAM_LINES) | _OF_HISTORY


@pytest.mark.parametrize("kind", _BARE)
@pytest.mark.parametrize("statement", _PARAM_LINES)
def test_a_statement_is_misplaced_where_the_table_says_so(statement: str, kind: str) -> None:
    text = followed_by(f'{kind} rise "Rise" {{ {_BARE[kind]}  {_PARAM_LINES[statement]} }}')
    misplaced = [found for found in checked(text).diagnostics if found.rule.name == "misplaced"]
    if kind in WHERE[statement]:
        assert misplaced == []
        return
    [found] = misplaced
    assert found.sentence.startswith(f'{kind.capitalize()} "Rise" has no use for {statement}; it belongs to ')
    assert all(home in found.sentence for home in WHERE[statement])
    assert stops(text) == ["misplaced"]


@pytest.mark.parametrize(("statement", "kinds"), [
    ("range", "param trim"), ("coded", "param"), ("way", "selector"), ("default", "param selector flag"),
    ("kept once", "param selector flag"), ("acts as", "param"), ("nominal", "trim"), ("safe", "trim"),
    ("engine", "param selector flag trim"), ("caution", "param selector flag trim preset mode"),
])  # fmt: skip
def test_the_table(statement: str, kinds: str) -> None:
    assert WHERE[statement] == set(kinds.split())


@pytest.mark.parametrize("lines", [
    "step 1 ms  range 1 ms .. 9 ms  range 1 ms .. 9 ms",
    "range 1 ms .. 9 ms  step 1 ms  step 2 ms",
    "range 1 ms .. 9 ms  step 1 ms  default 2 ms  default 3 ms",
    "range 1 ms .. 9 ms  step 1 ms  kept once  kept once",
    "range 1 ms .. 9 ms  step 1 ms  engine u8  engine u16",
])  # fmt: skip
def test_a_statement_given_twice(lines: str) -> None:
    found = wrong(lines)
    assert found.rule.name == "said-twice"
    assert [mark.label for mark in found.also] == ["said here first"]


def test_words_for_people_may_stand_several_times() -> None:
    made = param('range 1 ms .. 9 ms  step 1 ms  danger "D"  warning "W"  caution "C"  caution "E"  help "H"')
    assert made.notes == (
        Note(Signal.DANGER, "D"), Note(Signal.WARNING, "W"), Note(Signal.CAUTION, "C"),
        Note(Signal.CAUTION, "E"), Note(Signal.HELP, "H"),
    )  # fmt: skip


@pytest.mark.parametrize(("lines", "kind", "missing"), [
    ("step 1 ms", "param", "range"),
    ("range 1 ms .. 9 ms", "param", "neither step nor coded"),
    ("range 1 ms .. 9 ms  nominal 5 ms", "trim", "step"),
    ("range 1 ms .. 9 ms  step 1 ms", "trim", "nominal"),
    ('way one "One"  way two "Two"', "selector", "default"),
    ("", "flag", "default"),
])  # fmt: skip
def test_what_has_no_default_must_be_said(lines: str, kind: str, missing: str) -> None:
    found = wrong(lines, kind)
    assert found.rule.name == "unsaid"
    assert missing in found.sentence
    assert found.try_


def test_nominal_is_proposed_at_zero_where_the_range_has_it() -> None:
    assert wrong("range -3 dB .. 3 dB  step 0.1 dB", "trim").try_ == "nominal 0 dB"
    assert wrong("range 80 kohm .. 120 kohm  step 0.5 kohm", "trim").try_ == "nominal 100 kohm"


# ---- ranges and grids


def test_a_param_as_written() -> None:
    made = item(
        'param rise "Rise" { range 20 ms .. 1200 ms  noon 350 ms  step 1 ms  acts as delay time'
        ' kept once  limiter "none" }'
    )
    assert isinstance(made, Param)
    scale = made.scale
    assert (scale.unit, scale.first, scale.last) == (SPELLINGS["ms"], 20, 1200)
    assert (scale.law, scale.grid) == (ThreePoint(Fraction(350)), Stepped(Fraction(1)))
    assert not scale.off_at_stop
    assert (made.default, made.kept_once, made.role, made.limiter) == (330, True, Role.DELAY_TIME, "none")
    assert made.place is not None and made.place.text == "rise"


def test_a_falling_range_and_a_step_in_another_unit() -> None:
    made = param("range 9 ms .. 1 ms  step 500 us  default 1 ms")
    assert (made.scale.first, made.scale.last, made.scale.codes, made.default) == (9, 1, 17, 16)
    assert made.scale.value(1) == Fraction("8.5")


def test_levels_have_steps_in_db() -> None:
    assert param("range -6 dBu .. -42 dBu  step 0.5 dB").scale.codes == 73
    found = wrong("range -6 dBu .. -42 dBu  step 0.5 dBu")
    assert found.rule.name == "wrong-unit"
    assert "level in dBu" in found.sentence and "level difference" in found.sentence


def test_the_ends_in_two_units() -> None:
    assert wrong("range 20 ms .. 1.2 s  step 1 ms").try_ == "range 20 ms .. 1200 ms"
    assert wrong("range 1 s .. 30 ms  step 1 ms  default 30 ms").try_ == "range 1 s .. 0.03 s"
    assert wrong("range 100 cents .. 2 octaves  coded 8 bits").try_ == "range 100 cents .. 2400 cents"
    # 100 cents are no decimal number of octaves, so both ends go into cents.
    assert wrong("range 2 octaves .. 100 cents  coded 8 bits").try_ == "range 2400 cents .. 100 cents"


def test_the_ends_in_two_dimensions() -> None:
    found = wrong("range 20 ms .. 1200 Hz  step 1 ms")
    assert found.rule.name == "wrong-unit"
    assert found.place is not None and found.place.text == "1200 Hz"


def test_both_ends_the_same() -> None:
    assert wrong("range 5 ms .. 5 ms  step 1 ms").rule.name == "range-empty"
    assert stops(followed_by('param rise "Rise" { range 1 s .. 1000 ms  step 1 ms }')) == [
        "range-in-two-units", "range-empty",
    ]  # fmt: skip


@pytest.mark.parametrize(("step", "try_"), [("0 ms", ""), ("-1 ms", "step 1 ms"), ("-3 ms", "")])
def test_a_step_is_above_zero(step: str, try_: str) -> None:
    found = wrong(f"range 1 ms .. 9 ms  step {step}")
    assert (found.rule.name, found.try_) == ("step-not-positive", try_)


def test_a_range_of_whole_steps() -> None:
    found = wrong("range 0 ms .. 100 ms  step 0.3 ms  default 0 ms")
    assert "0 ms to 100 ms, is no whole number of steps of 0.3 ms" in found.sentence
    assert "333 steps end at 99.9 ms and 334 at 100.2 ms." in found.because
    assert found.try_ == "range 0 ms .. 100.2 ms"
    assert [mark.span.text for mark in found.also] == ["range 0 ms .. 100 ms"]


def test_steps_that_would_do_are_named() -> None:
    found = wrong("range 0 ms .. 10 ms  step 3 ms  default 0 ms")
    assert "A step of 2.5 ms divides it." in found.because
    found = wrong("range 0 ms .. 3 ms  step 2 ms  default 0 ms")
    assert "A step of 1.5 ms or 3 ms divides it." in found.because
    found = wrong("range 0 ms .. 1 ms  step 3 ms  default 0 ms")
    assert "0 steps end at 0 ms and 1 at 3 ms." in found.because


def test_the_proposed_range_leaves_the_rest_of_the_item_right() -> None:
    # 27 steps would leave the value at half travel between two steps, and there is no other default.
    assert wrong("range 5 ms .. 85 ms  step 3 ms").try_ == "range 5 ms .. 83 ms"
    # Nor may the range go through zero under a geometric taper.
    geometric = "range 85 ms .. 5 ms  step 30 ms  taper geometric  default 85 ms"
    assert wrong(geometric).try_ == "range 85 ms .. 25 ms"
    # 50 ms lies between the steps of any range that begins at 0 ms.
    assert wrong("range 0 ms .. 100 ms  step 30 ms  default 50 ms").try_ == "step 25 ms"


def test_too_many_codes() -> None:
    assert param("range 0 s .. 65.534 s  step 1 ms  default 0 s").scale.codes == 65535
    found = wrong("range 0 s .. 65.535 s  step 1 ms  default 0 s")
    assert found.sentence == 'Param "Rise" has 65536 codes, and 65535 are the most.'
    assert found.try_ == "step 5 ms"
    # 2 ms would not meet the default.
    assert wrong("range 0 s .. 100 s  step 1 ms  default 5 ms").try_ == "step 5 ms"


@pytest.mark.parametrize(("bits", "try_"), [(0, "coded 2 bits"), (1, "coded 2 bits"), (17, "coded 16 bits")])
def test_the_bounds_of_coded(bits: int, try_: str) -> None:
    found = wrong(f"range 1 ms .. 9 ms  coded {bits} bits")
    assert (found.rule.name, found.try_) == ("out-of-bounds", try_)


def test_the_ends_of_coded() -> None:
    assert param("range 1 ms .. 9 ms  coded 2 bits").default == 1
    widest = param("range 1 ms .. 9 ms  coded 16 bits")
    assert (widest.scale.grid, widest.scale.codes, widest.default) == (Coded(16), 65535, 32767)


def test_two_grids() -> None:
    found = wrong("range 1 ms .. 9 ms  coded 8 bits  step 1 ms")
    assert (found.rule.name, found.place and found.place.text) == ("two-grids", "step 1 ms")


# ---- tapers


@pytest.mark.parametrize(("lines", "law"), [
    ("", Straight()),
    ("taper linear", Straight()),
    ("taper geometric", Geometric()),
    ("noon 8 ms", ThreePoint(Fraction(8))),
    ("taper audio 25 %", ThreePoint(Fraction(21))),
    ("taper audio 75 %", ThreePoint(Fraction(61))),
    ("taper audio 50 %  noon 41 ms", ThreePoint(Fraction(41))),
    ("taper s 10 %", SCurve(Fraction(1, 10))),
    ("taper s 24.9 %  noon 41 ms", SCurve(Fraction(249, 1000))),
])  # fmt: skip
def test_laws(lines: str, law: object) -> None:
    assert param(f"range 1 ms .. 81 ms  {lines}  step 1 ms  default 8 ms").scale.law == law


@pytest.mark.parametrize("noon", ["0 ms", "90 ms", "1 ms", "81 ms"])
def test_noon_lies_strictly_inside(noon: str) -> None:
    found = wrong(f"range 1 ms .. 81 ms  noon {noon}  step 1 ms  default 1 ms")
    assert found.rule.name == "noon-outside-range"
    assert found.try_ == "noon 9 ms"  # in equal ratio to both ends
    assert "1 ms to 81 ms" in found.sentence
    assert [mark.label for mark in found.also] == ["its range"]


@pytest.mark.parametrize(("lines", "try_"), [
    ("range -12 dB .. 12 dB  noon 20 dB  step 0.5 dB", "noon 0 dB"),
    ("range -12 dB .. 12 dB  noon 20 dB  coded 8 bits", "noon 0 dB"),
    ("range 1 ms .. 100 ms  noon 200 ms  coded 8 bits", "noon 10 ms"),
    ("range 0.5 ms .. 80 ms  noon 90 ms  coded 8 bits", "noon 6 ms"),
    ("range 0 dB .. 2 dB  noon 2 dB  step 1 dB", "noon 1 dB"),
    ("range 0 dB .. 1 dB  noon 2 dB  step 1 dB  default 0 dB", ""),
])  # fmt: skip
def test_a_noon_that_would_do(lines: str, try_: str) -> None:
    found = wrong(lines)
    assert (found.rule.name, found.try_) == ("noon-outside-range", try_)


@pytest.mark.parametrize(("noon", "right"), [
    ("40 ms", True), ("40.5 ms", True), ("39.5 ms", True), ("40.6 ms", False), ("39.4 ms", False),
])  # fmt: skip
def test_noon_beside_a_taper_is_a_claim_to_half_a_step(noon: str, right: bool) -> None:
    lines = f"range 0 ms .. 80 ms  taper linear  noon {noon}  step 1 ms  default 0 ms"
    if right:
        assert param(lines).scale.law == Straight()
    else:
        found = wrong(lines)
        assert (found.rule.name, found.try_) == ("noon-and-taper", "noon 40 ms")
        assert "40 ms" in found.sentence


def test_the_claim_to_half_a_code() -> None:
    # 2 bits are three codes; half a code from noon is travel 1/4 and 3/4: 3.162 ms and 31.62 ms.
    for noon in ("3.2 ms", "10 ms", "31.6 ms"):
        assert param(f"range 1 ms .. 100 ms  taper geometric  noon {noon}  coded 2 bits").default == 1
    for noon in ("3.1 ms", "31.7 ms"):
        found = wrong(f"range 1 ms .. 100 ms  taper geometric  noon {noon}  coded 2 bits")
        assert (found.rule.name, found.try_) == ("noon-and-taper", "noon 10 ms")


def test_a_claim_outside_the_range() -> None:
    found = wrong("range 0 ms .. 80 ms  taper linear  noon 90 ms  step 1 ms")
    assert (found.rule.name, found.try_) == ("noon-outside-range", "noon 40 ms")


@pytest.mark.parametrize("ends", ["0 ms .. 80 ms", "80 ms .. 0 ms", "-5 ms .. 80 ms"])
def test_geometric_needs_one_sign(ends: str) -> None:
    found = wrong(f"range {ends}  taper geometric  step 5 ms")
    assert found.rule.name == "geometric-ends"
    assert [mark.span.text for mark in found.also] == [f"range {ends}"]


def test_geometric_below_zero() -> None:
    assert param("range -80 ms .. -5 ms  taper geometric  coded 8 bits").scale.law == Geometric()


@pytest.mark.parametrize(("share", "try_"), [
    ("0 %", "taper audio 1 %"), ("-3 %", "taper audio 1 %"),
    ("100 %", "taper audio 99 %"), ("250 %", "taper audio 99 %"),
])  # fmt: skip
def test_the_share_of_an_audio_taper(share: str, try_: str) -> None:
    found = wrong(f"range 0 ms .. 80 ms  taper audio {share}  coded 8 bits")
    assert (found.rule.name, found.try_) == ("audio-share", try_)


# ---- defaults


@pytest.mark.parametrize(("lines", "code"), [
    ("range 0 % .. 100 %  step 1 %  default 30 %", 30),
    ("range 0 % .. 100 %  noon 20 %  step 1 %", 20),
    ("range 0 % .. 100 %  noon 20 %  step 1 %  default 30 %", 30),
    ("range 0 % .. 100 %  step 1 %", 50),
    ("range 0 % .. 100 %  noon 20 %  coded 8 bits", 127),
    ("range 1 ms .. 100 ms  taper geometric  step 1 ms", 9),
    ("range 0 % .. 100 %  taper linear  noon 50.4 %  coded 6 bits", 31),
    ("range -60 dB .. 12 dB  noon 0 dB  step 0.5 dB  off at stop  default off", 0),
])  # fmt: skip
def test_the_default_is_as_given_or_noon_or_half_way(lines: str, code: int) -> None:
    assert param(lines).default == code


def test_noon_off_the_grid_is_no_default() -> None:
    found = wrong("range 0 ms .. 80 ms  noon 8.3 ms  step 1 ms")
    assert (found.rule.name, found.try_) == ("value-off-grid", "default 8 ms")
    assert "8 ms and 9 ms" in found.sentence
    assert "default" in found.because[0]
    assert param("range 0 ms .. 80 ms  noon 8.3 ms  step 1 ms  default 9 ms").default == 9


def test_half_travel_off_the_grid_is_no_default() -> None:
    found = wrong("range 0 ms .. 5 ms  step 1 ms")
    assert (found.rule.name, found.try_) == ("value-off-grid", "default 2 ms")
    assert "2.5 ms" in found.sentence and "2 ms and 3 ms" in found.sentence
    found = wrong("range 1 ms .. 10 ms  taper geometric  step 1 ms")
    assert "about 3.16228 ms" in found.sentence and "3 ms and 4 ms" in found.sentence


# ---- roles


def test_every_role_knows_what_it_is_measured_in() -> None:
    assert set(ROLE_DIMENSIONS) == set(Role)


@pytest.mark.parametrize(("role", "ends", "step", "fits"), [
    ("delay time", "1 ms .. 9 ms", "1 ms", True), ("delay time", "1 Hz .. 9 Hz", "1 Hz", False),
    ("loop gain", "0 % .. 110 %", "1 %", True), ("loop gain", "0:1 .. 2:1", "0.1 x", True),
    ("loop gain", "-9 dB .. 1 dB", "1 dB", False), ("rate", "1 Hz .. 9 Hz", "1 Hz", True),
    ("rate", "40 BPM .. 240 BPM", "1 BPM", True), ("rate", "1 ms .. 9 ms", "1 ms", False),
    ("threshold", "-6 dBu .. -42 dBu", "1 dB", True), ("resonance", "0.5 Q .. 10.5 Q", "0.5 Q", True),
    ("gain", "6 dB .. 34 dB", "1 dB", True), ("level", "1 kohm .. 9 kohm", "1 kohm", False),
])  # fmt: skip
def test_roles_fit_dimensions(role: str, ends: str, step: str, fits: bool) -> None:
    text = followed_by(f'param rise "Rise" {{ range {ends}  step {step}  acts as {role} }}')
    assert stops(text) == ([] if fits else ["role-dimension"])


# ---- selectors and flags


def test_a_selector_as_written() -> None:
    ways = 'way half "1/2" = 2  way dot "3/4" = 3/4  way tri "1/3" = 1/3'
    made = item(f'selector beat "Beat" {{ {ways}  default tri  kept once }}')
    assert isinstance(made, Selector)
    assert [way.name for way in made.ways] == ["half", "dot", "tri"]
    assert [way.number for way in made.ways] == [
        Quantity(Fraction(2), NO_UNIT), Quantity(Fraction(3, 4), NO_UNIT), Quantity(Fraction(1, 3), NO_UNIT),
    ]  # fmt: skip
    assert (made.default, made.kept_once) == (2, True)


def test_way_numbers_are_in_the_first_ones_unit() -> None:
    made = item('selector cut "Cut" { way low "Low" = 80 Hz  way high "High" = 1.2 kHz  default low }')
    assert isinstance(made, Selector)
    assert [str(way.number) for way in made.ways] == ["80 Hz", "1200 Hz"]


@pytest.mark.parametrize(("lines", "rule"), [
    ("default one", "selector-ways"),
    ('way one "One"  default one', "selector-ways"),
    ('way one "One" = 1  way two "Two"  default one', "way-numbers"),
    ('way one "One"  way two "Two" = 2  default one', "way-numbers"),
    ('way one "One" = 1 Hz  way two "Two" = 2 ms  default one', "wrong-unit"),
    ('way one "One" = 1 Hz  way two "Two" = 1/2  default one', "wrong-unit"),
    ('way one "One"  way two "Two"  default three', "way-unknown"),
])  # fmt: skip
def test_what_is_wrong_with_a_selector(lines: str, rule: str) -> None:
    assert wrong(lines, "selector").rule.name == rule


def test_ways_have_a_bound() -> None:
    def many(count: int) -> str:
        return " ".join(f'way w{number} "W{number}"' for number in range(count)) + " default w0"

    assert item(f'selector rise "Rise" {{ {many(MOST_WAYS)} }}').codes == MOST_WAYS
    assert wrong(many(MOST_WAYS + 1), "selector").rule.name == "too-many-codes"


def test_a_flag_as_written() -> None:
    assert item('flag tails "Tails" { default on  kept once }') == Flag("tails", "Tails", 1, True)
    assert item('flag tails "Tails" { default off }') == Flag("tails", "Tails", 0)
    assert wrong("default half", "flag").rule.name == "value-kind"


# ---- trims


def trim(lines: str) -> Trim:
    made = item(f'trim hum "Hum" {{ range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB  {lines} }}')
    assert isinstance(made, Trim)
    return made


def test_a_trim_as_written() -> None:
    made = trim('plausible 1.5 dB .. -1.5 dB  probe "TP4, 1 kHz"  aim 0 dBu  slope 0.95 dB  safe -3 dB')
    assert (made.scale.grid, made.nominal, made.default, made.safe) == (Stepped(Fraction(1, 10)), 30, 30, 0)
    assert made.plausible == (Fraction(-3, 2), Fraction(3, 2))
    assert (made.probe, str(made.aim), made.slope) == ("TP4, 1 kHz", "0 dBu", Fraction("0.95"))


def test_a_slope_without_unit_is_in_the_aims() -> None:
    assert trim('probe "TP"  aim 10 mV  slope -2').slope == -2
    assert trim('probe "TP"  aim 10 mV  slope 0.002 V').slope == 2


@pytest.mark.parametrize(("lines", "rule", "try_"), [
    ("plausible -4 dB .. 2 dB", "plausible-outside-range", "plausible -3 dB .. 2 dB"),
    ("plausible 2 dB .. -4 dB", "plausible-outside-range", "plausible 2 dB .. -3 dB"),
    ("plausible 4 dB .. 5 dB", "plausible-outside-range", ""),
    ("plausible 1 dB .. 1 dB", "range-empty", ""),
    ("plausible 1 V .. 2 V", "wrong-unit", ""),
    ("safe 0.05 dB", "value-off-grid", "safe 0 dB"),
    ("safe 9 dB", "value-outside-range", "safe 3 dB"),
    ('probe "TP"  aim 1 V  slope 0 mV', "slope-zero", ""),
    ('probe "TP"  aim 1 V  slope 1 dB', "wrong-unit", ""),
    ("aim 1 V", "reading-incomplete", 'Write probe and where to measure, such as probe "TP1".'),
    ('probe "TP"  slope 1', "reading-incomplete", "Write aim and the reading that is wanted."),
])  # fmt: skip
def test_what_is_wrong_with_a_trim(lines: str, rule: str, try_: str) -> None:
    found = [
        one
        for one in checked(
            followed_by(f'trim hum "Hum" {{ range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB  {lines} }}')
        ).diagnostics
        if one.rule.name == rule
    ]
    assert [one.try_ for one in found][:1] == [try_]
    assert {one.subject for one in found} == {"hum"}


def test_a_nominal_off_the_grid() -> None:
    found = wrong("range -3 dB .. 3 dB  step 0.5 dB  nominal 0.2 dB", "trim")
    assert (found.rule.name, found.try_) == ("value-off-grid", "nominal 0 dB")


# ---- each mistake once


def test_a_wrong_taper_is_told_and_neither_its_noon_nor_its_engine() -> None:
    text = followed_by(
        'param rise "Rise" { range 0 ms .. 80 ms  taper s 30 %  noon 8 ms  step 1 ms  default 8 ms'
        " engine u8 as pole at 32 kHz }",
        'preset 1 "A" { rise 3 ms }',
    )
    assert stops(text) == ["s-share"]


def test_an_item_that_could_not_be_made_is_no_mistake_of_its_preset() -> None:
    text = followed_by('param rise "Rise" { range 0 ms .. 80 Hz  step 1 ms }', 'preset 1 "A" { rise 3 ms }')
    assert stops(text) == ["wrong-unit"]


def test_a_wrong_default_does_not_hide_a_wrong_preset() -> None:
    text = followed_by(
        'param rise "Rise" { range 0 ms .. 8 ms  step 1 ms  default 9 ms }', 'preset 1 "A" { rise 8.5 ms }'
    )
    assert stops(text) == ["value-outside-range", "value-outside-range"]


def test_a_label_cannot_break_a_message() -> None:
    found = only(changed('"Level" {', r'"a \"b\"\nc" {').replace("100 %", "0 %"))
    assert found.sentence == r'Both ends of the range of param "a \"b\"\nc" are 0 %.'
