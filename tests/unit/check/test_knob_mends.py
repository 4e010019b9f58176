"""What a knob cannot give: codes that no count meets, and steps finer than its noise."""

from __future__ import annotations

import pytest

from paramc.check.example import changed, followed_by
from tests.unit.check.told import checked, only, told

_KNOB = "adc 10 bits"
_STEP = "step 1 %"


def _with(knob: str, level: str) -> str:
    return changed(_KNOB, knob).replace(_STEP, level)


# Of a straight taper with ends 0 .. M every code k has the count nearest to k M / (codes - 1), so all are met
# as long as there are no more codes than counts.
@pytest.mark.parametrize(("knob", "level", "missing"), [
    ("adc 8 bits  ends 0 .. 255", "coded 8 bits", 0),
    ("adc 8 bits  ends 255 .. 0", "coded 8 bits", 0),
    ("adc 8 bits  ends 0 .. 255", "coded 9 bits", 511 - 256),
    ("adc 8 bits  ends 0 .. 255", "step 0.25 %", 401 - 256),
    # 101 counts between the ends, of which each meets one of 201 codes.
    ("adc 8 bits  ends 50 .. 150", "step 0.5 %", 100),
    ("adc 8 bits  ends 50 .. 150", "step 1 %", 0),
])
def test_codes_that_no_count_meets_are_counted(knob: str, level: str, missing: int) -> None:
    found = [one for one in checked(_with(knob, level)).diagnostics if one.rule.name == "codes-out-of-reach"]
    assert len(found) == (missing > 0)
    for one in found:
        assert f", {missing} are out of the reach of knob " in one.sentence
        assert one.subject == "level"


def test_the_first_code_that_no_count_meets_is_named() -> None:
    # From 50 to 150 each count is worth two steps of 0.5 %: 0 %, 1 %, 2 % and so on.
    found = only(_with("adc 8 bits  ends 50 .. 150", "step 0.5 %"))
    assert found.sentence == (
        'Of the 201 codes of param "Level", 100 are out of the reach of knob "Loud"; the first is code 1,'
        " 0.5 %."
    )
    assert found.because == ("At the steepest place one count of the converter moves the code by 2.",)
    assert [mark.span.text for mark in found.also] == ["LOUD"]


def test_the_steep_end_of_a_taper_is_out_of_reach_first() -> None:
    # 3-point law through 0.5, 8 and 80 ms: the last of 1023 counts is worth 3.6 steps of 0.1 ms.
    text = _with("adc 10 bits  ends 0 .. 1023", "step 0.1 ms").replace(
        "range 0 % .. 100 %", "range 0.5 ms .. 80 ms  noon 8 ms"
    )
    found = only(text)
    assert found.rule.name == "codes-out-of-reach"
    assert found.because == ("At the steepest place one count of the converter moves the code by 4.",)


def test_a_code_that_another_knob_meets_is_within_reach() -> None:
    fine = 'panel { knob FINE "Fine" { adc 12 bits } }'
    coarse = changed(_STEP, "coded 10 bits")
    assert told(coarse) == ["codes-out-of-reach"]
    deep = 'mode deep "Deep" { enter jumper "J"  FINE sets level }'
    assert told(f"{coarse}{fine}\n{deep}\n") == []


def test_switches_and_what_no_knob_sets_are_not_asked() -> None:
    assert told(followed_by('param other "Other" { range 0 % .. 100 %  coded 16 bits }')) == []
    flag = 'flag loud "Loud" { default on }\n'
    assert told(changed("LOUD sets level", "LOUD sets loud") + flag) == []


@pytest.mark.parametrize(("noise", "level", "steps"), [
    # 101 codes over 256 counts: 0.39 of a step for each.
    (0, "step 1 %", None), (3, "step 1 %", None), (5, "step 1 %", None),
    (6, "step 1 %", 3), (10, "step 1 %", 4), (50, "step 1 %", 20), (6, "step 2 %", None),
    (2, "coded 8 bits", None), (3, "coded 8 bits", 3),
])
def test_steps_in_one_width_of_noise(noise: int, level: str, steps: int | None) -> None:
    text = _with(f"adc 8 bits  ends 0 .. 255  noise {noise} counts", level)
    found = checked(text).diagnostics
    assert [one.rule.name for one in found] == ([] if steps is None else ["steep-knob"])
    for one in found:
        assert f'knob "Loud", {noise} counts, covers {steps} steps of param "Level" at code ' in one.sentence


def test_where_the_noise_is_worth_most_and_where_it_begins() -> None:
    text = _with("adc 10 bits  ends 0 .. 1023  noise 10 counts", "step 1 %").replace(
        "range 0 % .. 100 %", "range 0 % .. 100 %  noon 10 %"
    )
    found = only(text)
    # The law is -1.25 + 1.25 * 81^x; no code lies so near to a border that a float could miss it.
    codes = [round(-1.25 + 1.25 * 81 ** (count / 1023)) for count in range(1024)]
    covered = [(later - code, code) for code, later in zip(codes, codes[10:], strict=False)]
    most = max(steps for steps, _ in covered)
    worst = next(code for steps, code in covered if steps == most)
    first = next(code for steps, code in covered if steps > 2)
    assert 0 < first < worst
    assert found.sentence == (
        f'One width of the noise of knob "Loud", 10 counts, covers {most} steps of param "Level" at code'
        f" {worst}, {worst} %."
    )
    assert found.because == (f"The first code where it covers more than 2 is {first}, {first} %.",)


def test_each_knob_that_is_read_otherwise_is_told() -> None:
    text = changed(_KNOB, "adc 10 bits  noise 30 counts")
    more = (
        'panel { knob OTHER "Other" { adc 12 bits  noise 120 counts }'
        '  knob SAME "Same" { adc 10 bits  noise 30 counts } }\n'
        'mode deep "Deep" { enter jumper "J"  OTHER sets level  SAME sets level }\n'
    )
    found = checked(text + more).diagnostics
    assert [one.rule.name for one in found] == ["steep-knob"] * 2
    assert ['knob "Loud"' in found[0].sentence, 'knob "Other"' in found[1].sentence] == [True, True]


def test_trims_are_asked_as_well() -> None:
    text = changed(_KNOB, "adc 10 bits  noise 9 counts") + (
        'trim null "Null" { range -256 .. 255  step 1  nominal 0  safe 0 }\n'
        'mode bench "Bench" { enter jumper "J"  LOUD sets null }\n'
    )
    assert [(one.rule.name, one.subject) for one in checked(text).diagnostics] == [("steep-knob", "null")]
