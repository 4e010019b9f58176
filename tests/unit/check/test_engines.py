"""Engine statements: formats, conversions, tolerances, and whether every code has an integer."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal, localcontext
from fractions import Fraction
from math import ceil, floor

import pytest

from paramc.check.example import followed_by
from paramc.check.fits import first_overflow, reach, without_integer
from paramc.check.formats import finer, likely
from paramc.model.engine import (
    AsStored,
    Decay,
    Engine,
    Gain,
    Legal,
    Phase,
    Pitch,
    Pole,
    Samples,
    Tolerance,
    WhereOne,
)
from paramc.model.items import Item, Param, engine_legal
from paramc.model.scale import Coded, Scale, Stepped, Straight, ThreePoint
from paramc.numbers.formats import parse
from paramc.numbers.units import SPELLINGS
from paramc.text.diagnostic import Diagnostic
from tests.unit.check.told import checked, product_of, stops

F = Fraction
LINE, BENT = Straight(), ThreePoint(Fraction(350))

TIME = "range 20 ms .. 1200 ms  step 1 ms"
GAIN = "range -12 dB .. 12 dB  step 0.5 dB"
SHARE = "range 0 % .. 110 %  step 0.5 %"
LEVEL = "range -6 dBu .. -42 dBu  step 0.5 dB"
RATE = "range 0.1 Hz .. 8 Hz  step 0.1 Hz  default 1 Hz"
CUT = "range 0 Hz .. 8000 Hz  step 20 Hz"
TUNE = "range -12 semitones .. 12 semitones  step 1 semitone"
TAIL = "range 1 s .. 9 s  step 0.5 s"
BEAT = 'way half "1/2" = 2  way beat "1/4" = 1  way tri "1/3" = 1/3  default beat'


def _block(lines: str, engine: str, kind: str = "param") -> str:
    return followed_by(f'{kind} rise "Rise" {{ {lines}  {engine} }}')


def engine(lines: str, written: str, kind: str = "param") -> Engine:
    """The engine of an item that nothing is wrong with."""
    made = product_of(_block(lines, written, kind)).items[-1].engine
    assert made is not None
    return made


def wrong(lines: str, written: str, kind: str = "param") -> Diagnostic:
    """The one thing that is wrong with an engine."""
    [found] = checked(_block(lines, written, kind)).diagnostics
    assert found.subject == "rise"
    return found


@pytest.mark.parametrize(("lines", "written", "form", "conversion", "tolerance"), [
    (TIME, "engine u16", "u16", AsStored(), None),
    (TIME, "engine s32", "s32", AsStored(), None),
    (TIME, "engine u16 as samples at 32 kHz", "u16", Samples(F(32000)), None),
    (TIME, "engine u16 as samples at 32 kHz within 1 ms", "u16", Samples(F(32000)), Tolerance(F(1))),
    (TIME, "engine u16 as samples at 32 kHz within 100 us", "u16", Samples(F(32000)), Tolerance(F(1, 10))),
    (TIME, "engine u16 as samples at 32 kHz within 2 %", "u16", Samples(F(32000)), Tolerance(F(1, 50), True)),
    (SHARE, "engine q15 where 1 is 200 % within 0.1 %", "q15", WhereOne(F(200)), Tolerance(F(1, 10))),
    (GAIN, "engine uq4.12 as gain within 0.02 dB", "uq4.12", Gain(), Tolerance(F(1, 50))),
    (GAIN, "engine s8 where 1 is -0.5 dB", "s8", WhereOne(F(-1, 2)), None),
    (RATE, "engine u32 as phase at 32 kHz within 1 %", "u32", Phase(F(32000)), Tolerance(F(1, 100), True)),
    (LEVEL, "engine s16 where 1 is 0.25 dB within 0.1 dB", "s16", WhereOne(F(1, 4)), Tolerance(F(1, 10))),
    (RATE, "engine q15 as pole at 32 kHz", "q15", Pole(F(32000)), None),
    (CUT, "engine q31 as pole at 32 kHz within 1 Hz", "q31", Pole(F(32000)), Tolerance(F(1))),
    (TUNE, "engine uq4.12 as pitch", "uq4.12", Pitch(), None),
    (TUNE, "engine uq4.28 as pitch within 1 cent", "uq4.28", Pitch(), Tolerance(F(1, 100))),
    (TAIL, "engine uq1.31 as decay at 32 kHz", "uq1.31", Decay(F(32000)), None),
    (TAIL, "engine q31 as decay at 32 kHz within 1 %", "q31", Decay(F(32000)), Tolerance(F(1, 100), True)),
])  # fmt: skip
def test_what_is_written_is_what_is_read(
    lines: str, written: str, form: str, conversion: object, tolerance: object
) -> None:
    made = engine(lines, written)
    assert made == Engine(parse(form), conversion, tolerance)  # type: ignore[arg-type]


def test_or_nearest() -> None:
    assert engine(GAIN, "engine uq4.4 as gain within 0.1 dB or nearest").or_nearest
    assert stops(_block(GAIN, "engine uq4.4 as gain within 0.1 dB")) == ["engine-too-coarse"]


def test_engines_of_selectors_flags_and_trims() -> None:
    made = engine(BEAT, "engine uq2.14 where 1 is 1 within 0.001", "selector")
    assert made.conversion == WhereOne(F(1))
    assert engine(BEAT, "engine u8", "selector").conversion == AsStored()
    assert engine("default on", "engine u8", "flag").conversion == AsStored()
    lines = "range -3 dB .. 3 dB  step 0.1 dB  nominal 0 dB"
    assert engine(lines, "engine uq2.14 as gain within 0.01 dB", "trim").conversion == Gain()


@pytest.mark.parametrize(("lines", "written", "rule", "try_"), [
    (TIME, "engine u24 as samples at 32 kHz", "format-unknown", "engine u32 as samples at 32 kHz"),
    (TIME, "engine u12", "format-unknown", "engine u16"),
    (SHARE, "engine q12 where 1 is 200 %", "format-unknown", "engine q15 where 1 is 200 %"),
    (SHARE, "engine uq2.12 where 1 is 100 %", "format-unknown", "engine uq2.14 where 1 is 100 %"),
    (SHARE, "engine q0.16 where 1 is 200 %", "format-unknown", "engine q31 where 1 is 200 %"),
    (SHARE, "engine u99999999999999999999 where 1 is 1 %", "format-unknown", ""),
    (TIME, "engine u16 within 1 ms", "as-stored", "engine u16"),
    (TIME, "engine q15", "as-stored", "engine u16"),
    ("range 0 % .. 100 %  step 1 %", "engine q7", "as-stored", "engine u8"),
    ("default on", "engine u8 where 1 is 1", "conversion-number", "engine u8"),
    ('way a "A"  way b "B"  default a', "engine q15 where 1 is 1", "conversion-number", "engine u8"),
    (TIME, "engine u16 as gain", "conversion-dimension", ""),
    (GAIN, "engine u16 as samples at 32 kHz", "conversion-dimension", ""),
    (TIME, "engine u16 as phase at 32 kHz", "conversion-dimension", ""),
    (LEVEL, "engine uq1.15 as gain", "conversion-dimension", ""),
    (GAIN, "engine s16 where 2 is 0.5 dB", "where-one", "engine s16 where 1 is 0.5 dB"),
    (GAIN, "engine s16 where 1 is 0 dB", "where-one", ""),
    (GAIN, "engine s16 where 1 is 1 ms", "wrong-unit", ""),
    (LEVEL, "engine s16 where 1 is 1 dBu", "wrong-unit", ""),
    (TIME, "engine u16 as samples at 32 ms", "wrong-unit", ""),
    (TIME, "engine u16 as samples at -32 kHz", "rate-not-positive",
     "Write the sample rate of the firmware, such as 32 kHz."),
    (RATE, "engine s16 as phase at 32 kHz", "phase-format", "engine u16 as phase at 32 kHz"),
    (RATE, "engine uq1.15 as phase at 32 kHz", "phase-format", "engine u16 as phase at 32 kHz"),
    (RATE, "engine u16 as phase at 16 Hz", "phase-above-half", "Write a rate above 16 Hz."),
    (TIME, "engine q15 as pole at 32 kHz", "conversion-dimension", ""),
    (GAIN, "engine uq4.12 as pitch", "conversion-dimension", ""),
    (RATE, "engine q31 as decay at 32 kHz", "conversion-dimension", ""),
    (CUT, "engine q15 as pole at 0 kHz", "rate-not-positive",
     "Write the sample rate of the firmware, such as 32 kHz."),
    (TAIL, "engine q31 as decay at -1 Hz", "rate-not-positive",
     "Write the sample rate of the firmware, such as 32 kHz."),
    # Ten times the rate are 7 Hz.
    ("range 0 Hz .. 8 Hz  step 2 Hz", "engine q15 as pole at 0.7 Hz", "out-of-bounds", ""),
    ("range -2 Hz .. 8 Hz  step 2 Hz  default 0 Hz", "engine q15 as pole at 32 kHz", "out-of-bounds", ""),
    ("range -101 octaves .. 101 octaves  step 1 octave", "engine u32 as pitch", "out-of-bounds", ""),
    ("range 0 s .. 8 s  step 1 s", "engine q31 as decay at 32 kHz", "decay-not-positive", "range 2 s .. 8 s"),
    ("range 8 s .. -8 s  step 1 s  default 3 s", "engine q31 as decay at 32 kHz", "decay-not-positive",
     "range 8 s .. 1 s"),
    ("range 0 s .. 8 s  coded 8 bits", "engine q31 as decay at 32 kHz", "decay-not-positive",
     "range 0.08 s .. 8 s"),
    ("range -9 s .. -1 s  step 1 s", "engine q31 as decay at 32 kHz", "decay-not-positive", ""),
    ("range 1 us .. 9 us  step 1 us", "engine q31 as decay at 32 kHz", "out-of-bounds", ""),
    (TIME, "engine u16 as samples at 32 kHz within 1 dB", "wrong-unit", ""),
    (TUNE, "engine uq4.12 as pitch within 0 cents", "tolerance-not-positive",
     "Write a tolerance above zero, or leave it out for the correctly rounded integers."),
    (TUNE, "engine uq4.12 as pitch within 1 %", "relative-at-zero", "Write the tolerance in semitones."),
    (TIME, "engine u16 as samples at 32 kHz within -1 ms", "tolerance-not-positive",
     "Write a tolerance above zero, or leave it out for the correctly rounded integers."),
    (GAIN, "engine s16 where 1 is 0.25 dB within 1 %", "relative-at-zero", "Write the tolerance in dB."),
    ("range 0 ms .. 8 ms  step 1 ms", "engine u16 as samples at 32 kHz within 1 %", "relative-at-zero",
     "Write the tolerance in ms."),
])  # fmt: skip
def test_what_is_wrong(lines: str, written: str, rule: str, try_: str) -> None:
    kind = "flag" if lines == "default on" else "selector" if "way" in lines else "param"
    found = wrong(lines, written, kind)
    assert (found.rule.name, found.try_) == (rule, try_)


def test_half_the_rate_is_too_much_and_below_it_is_not() -> None:
    assert wrong(RATE, "engine u32 as phase at 16 Hz").rule.name == "phase-above-half"
    assert engine(RATE, "engine u32 as phase at 16.1 Hz").conversion == Phase(Fraction("16.1"))


def test_likely_formats() -> None:
    def names(text: str) -> list[str]:
        return [form.name for form in likely(text)]

    assert names("u12") == ["u16", "u32"]
    assert names("s64") == []
    assert names("q16") == ["q31"]
    assert names("uq3.9") == ["uq3.13", "uq3.29"]
    assert names("q0.7") == ["q7", "q15", "q31"]
    assert names("float") == []


def test_finer_formats() -> None:
    coarse, whole = parse("q3.5"), parse("u8")
    assert coarse is not None and whole is not None
    assert [form.name for form in finer(coarse)] == ["q3.13", "q3.29"]
    assert list(finer(whole)) == []


# ---- overflow


@pytest.mark.parametrize(("lines", "written", "code", "value", "number", "holder"), [
    # 200 % is 1, which q15 does not hold; the first code that rounds to 32768 is the one of 200 %.
    ("range 0 % .. 200 %  step 1 %", "engine q15 where 1 is 200 %", 200, "200 %", "32768", "uq1.15"),
    ("range -200 % .. 200 %  step 1 %", "engine q15 where 1 is 200 %", 400, "200 %", "32768", "q2.14"),
    ("range 200 % .. 0 %  step 1 %", "engine q15 where 1 is 200 %", 0, "200 %", "32768", "uq1.15"),
    # 2.048 s at 32 kHz are 65536 samples.
    ("range 0 ms .. 2100 ms  step 1 ms", "engine u16 as samples at 32 kHz", 2048, "2048 ms", "65536", "u32"),
    # 10^(6.5/20) = 2.1135; 2 would be 131072 and 65535 is the most: 6.0206 dB.
    ("range -12 dB .. 12 dB  step 0.5 dB", "engine uq1.15 as gain", 37, "6.5 dB", "69255", "uq2.14"),
    ("range 0 % .. 100 %  step 0.25 %", "engine u8", 256, "64 %", "256", "u16"),
    ("range -5 % .. 5 %  step 1 %", "engine u8 where 1 is 1 %", 0, "-5 %", "-5", "s8"),
    # An octave is 2, and uq1.15 ends short of it.
    (TUNE, "engine uq1.15 as pitch", 24, "12 semitones", "65536", "uq2.14"),
    (TUNE.replace("-12 semitones .. 12", "12 semitones .. -12"), "engine uq1.15 as pitch", 0, "12 semitones",
     "65536", "uq2.14"),
    # 128 (1 - exp(-2 pi f / F)) is 127.48 at 28 Hz and 127.57 at 29 Hz.
    ("range 0 Hz .. 80 Hz  step 1 Hz", "engine q7 as pole at 32 Hz", 29, "29 Hz", "128", "uq1.7"),
    # 128 * 10^(-3 / (T F)) is 127.48 of 1700 samples and 127.51 of 1800.
    ("range 100 ms .. 8900 ms  step 100 ms", "engine q7 as decay at 1 kHz", 17, "1800 ms", "128", "uq1.7"),
])  # fmt: skip
def test_the_first_code_that_overflows(
    lines: str, written: str, code: int, value: str, number: str, holder: str
) -> None:
    found = wrong(lines, written)
    assert found.rule.name == "engine-overflow"
    assert found.sentence.startswith(f'Code {code} of param "Rise", {value}, becomes {number}, and ')
    assert found.because == (f"{holder} holds every code.",)
    assert found.try_.split()[1] == holder


def test_a_tie_above_the_greatest_integer_goes_out() -> None:
    # 255 / 2 is 127.5: ties go to the even integer, 128, which s8 does not hold; 253 / 2 becomes 126.
    found = wrong("range 0 % .. 255 %  step 1 %  default 0 %", "engine s8 where 1 is 2 %")
    assert found.sentence.startswith("Code 255")
    assert engine("range 0 % .. 254 %  step 1 %", "engine s8 where 1 is 2 %").format.name == "s8"


def test_off_is_zero_and_always_fits() -> None:
    lines = "range -60 dB .. 0 dB  step 1 dB  off at stop"
    assert engine(lines, "engine uq1.15 as gain").conversion == Gain()
    # Without off, 10^(-3) would be the least; with it the format has to hold 0 as well.
    item = product_of(_block(lines, "engine uq1.15 as gain")).items[-1]
    assert reach(item)[0] == 0


def test_no_format_holds_everything() -> None:
    found = wrong("range 0 dB .. 900 dB  step 1 dB", "engine u16 as gain")
    assert (found.because, found.try_) == ((), "")
    sentence = 'Code 97 of param "Rise", 97 dB, becomes 70795, and u16 holds 0 to 65535.'
    assert found.sentence == sentence


def test_a_number_beyond_all_bounds_is_compared_and_not_written_out() -> None:
    nines = "9" * 39
    found = wrong(f"range 1 Hz .. {nines} Hz  coded 8 bits", "engine s16 where 1 is 1 Hz")
    assert found.rule.name == "engine-overflow"
    assert found.sentence.startswith('Code 1 of param "Rise"')
    assert "becomes a number above 2^64" in found.sentence
    found = wrong(f"range 1 Hz .. -{nines} Hz  coded 8 bits", "engine s16 where 1 is 1 Hz")
    assert "becomes a number below -2^64" in found.sentence


def test_gain_has_bounds() -> None:
    assert engine("range -1000 dB .. 0 dB  step 1 dB", "engine uq1.15 as gain").conversion == Gain()
    for ends in ("-1001 dB .. 0 dB", "0 dB .. 1001 dB"):
        found = wrong(f"range {ends}  step 1 dB  default 0 dB", "engine u32 as gain within 1 dB")
        assert (found.rule.name, "-1000 dB to 1000 dB" in found.sentence) == ("out-of-bounds", True)


def test_of_a_selector_any_way_may_overflow() -> None:
    found = wrong(BEAT, "engine q15 where 1 is 2", "selector")
    assert found.sentence.startswith('Code 0 of selector "Rise", "1/2", becomes 32768')


# ---- tolerance


def test_codes_without_an_integer_are_counted_and_the_first_are_named() -> None:
    found = wrong("range 0 ms .. 10 ms  step 1 ms", "engine u8 where 1 is 3 ms within 0.5 ms")
    # v / 3 with v to half: only multiples of 3 have an integer.
    assert found.sentence == 'For 7 codes of 11 of param "Rise" no integer of u8 is within 0.5 ms.'
    assert found.because[0] == "The first are code 1 (1 ms), code 2 (2 ms), code 4 (4 ms) and code 5 (5 ms)."
    assert found.try_ == "engine u8 where 1 is 3 ms within 0.5 ms or nearest"


def test_a_great_many_codes_are_not_counted_to_the_end() -> None:
    found = wrong("range 0 ms .. 3000 ms  step 1 ms", "engine u16 where 1 is 3 ms within 0.5 ms")
    assert found.sentence.startswith('For more than 1000 codes of 3001 of param "Rise" no integer of u16')


def test_the_tolerance_stops_at_the_ends_of_the_range() -> None:
    # 0.6 ms is 0.4 of 1.5 ms; 0 would be within 0.7 ms of it, but no value of the range becomes 0.
    lines = "range 0.6 ms .. 3 ms  step 0.6 ms  default 3 ms"
    found = wrong(lines, "engine u8 where 1 is 1.5 ms within 0.7 ms")
    assert found.sentence.startswith("For 1 code of 5")
    assert found.because[0] == "It is code 0 (0.6 ms)."
    assert engine(lines.replace("range 0.6 ms", "range 0 ms"), "engine u8 where 1 is 1.5 ms within 0.7 ms")


def test_the_only_good_integer_may_lie_outside_the_format() -> None:
    # 42.11017 dB are 127.4995; 0.03405 dB less are 127.0007 and more are 128.0003: 128 alone would be good.
    ways = 'way low "Low" = 0 dB  way high "High" = 42.11017 dB  default low'
    item = product_of(_block(ways, "engine s8 as gain", "selector")).items[-1]
    assert engine_legal(replace(item, engine=_gain("s16")), 1) == Legal(128, 128)
    assert first_overflow(item) is None  # the correctly rounded integer is 127
    assert wrong(ways, "engine s8 as gain within 0.03405 dB", "selector").rule.name == "engine-too-coarse"
    assert engine(ways, "engine s16 as gain within 0.03405 dB", "selector").format.name == "s16"


def _gain(form: str) -> Engine:
    found = parse(form)
    assert found is not None
    return Engine(found, Gain(), Tolerance(F("0.03405")))


def _item(
    law: object, grid: object, first: str, last: str, conversion: object, form: str, amount: Fraction,
    relative: bool = False, unit: str = "%",
) -> Param:  # fmt: skip
    scale = Scale(SPELLINGS[unit], Fraction(first), Fraction(last), law, grid)  # type: ignore[arg-type]
    made = Engine(parse(form), conversion, Tolerance(amount, relative))  # type: ignore[arg-type]
    return Param("item", "Item", scale, 0, engine=made)


def _lacking(item: Param) -> list[int]:
    """The codes without an integer by another road: 60 decimal digits, every code, no shortcuts."""
    made, scale = item.engine, item.scale
    assert made is not None and made.tolerance is not None
    lacking = []
    with localcontext() as context:
        context.prec = 60

        def exact(number: Fraction) -> Decimal:
            return Decimal(number.numerator) / Decimal(number.denominator)

        def converted(value: Decimal) -> Decimal:
            match made.conversion:
                case Gain():
                    plain = Decimal(10) ** (value / 20)
                case WhereOne(one=one):
                    plain = value / exact(one)
                case Samples(rate=rate):
                    plain = value * exact(scale.unit.factor * rate)
                case Phase(rate=rate):
                    plain = value * exact(scale.unit.factor) * 2**made.format.bits / exact(rate)
                case other:
                    raise AssertionError(other)
            return plain * made.format.scale

        first, last = exact(scale.first), exact(scale.last)
        for code in range(item.codes):
            if isinstance(scale.grid, Stepped):
                value = exact(scale.first + code * scale.signed_step)
            else:
                assert isinstance(scale.law, ThreePoint)
                noon = exact(scale.law.noon)
                r = (last - noon) / (noon - first)
                share = (r ** (2 * Decimal(code) / (item.codes - 1)) - 1) / (r * r - 1)
                value = first + (last - first) * share
            width = exact(made.tolerance.amount) * (abs(value) if made.tolerance.relative else 1)
            low = max(value - width, min(first, last))
            high = min(value + width, max(first, last))
            ends = sorted((converted(low), converted(high)))
            # A hair to spare where an end is an integer in truth and 60 digits stop short of it.
            hair = Decimal("1e-40")
            least = max(ceil(ends[0] - hair), made.format.minimum)
            if least > min(floor(ends[1] + hair), made.format.maximum):
                lacking.append(code)
    return lacking


@pytest.mark.parametrize("item", [
    _item(LINE, Stepped(F(1, 2)), "-60", "12", Gain(), "uq4.12", F(1, 10), unit="dB"),
    _item(LINE, Stepped(F(1, 2)), "12", "-60", Gain(), "uq4.12", F(1, 10), unit="dB"),
    _item(ThreePoint(F(0)), Coded(8), "-60", "12", Gain(), "uq4.12", F(1, 100), unit="dB"),
    _item(ThreePoint(F(0)), Coded(8), "12", "-60", Gain(), "uq4.12", F(1, 100), unit="dB"),
    _item(LINE, Stepped(F(1, 2)), "1", "12", Gain(), "uq4.4", F(1, 50), True, unit="dB"),
    _item(LINE, Stepped(F(1, 2)), "-30", "-1", Gain(), "uq1.7", F(1, 50), True, unit="dB"),
    _item(BENT, Coded(8), "20", "1200", Samples(F(3200)), "u16", F(1, 10), unit="ms"),
    _item(BENT, Coded(8), "20", "1200", Samples(F(320)), "u16", F(1, 100), True, unit="ms"),
    _item(BENT, Coded(8), "1200", "20", Samples(F(320)), "u16", F(1, 100), True, unit="ms"),
    _item(LINE, Stepped(F(1)), "-1200", "-20", Samples(F(320)), "s16", F(1, 100), True, unit="ms"),
    _item(LINE, Stepped(F(1, 4)), "-100", "100", WhereOne(F(-3)), "s8", F(1), unit="%"),
    _item(LINE, Stepped(F(1, 4)), "-100", "100", WhereOne(F(3)), "q7.1", F(1, 2), unit="%"),
    _item(LINE, Stepped(F(1, 10)), "0.1", "8", Phase(F(1000)), "u8", F(1, 5), True, unit="Hz"),
])  # fmt: skip
def test_the_shortcuts_find_what_looking_at_every_code_finds(item: Param) -> None:
    expected = _lacking(item)
    assert list(without_integer(item)) == expected
    assert 0 < len(expected) < item.codes


@pytest.mark.parametrize("lines", [
    "range 0 ms .. 4000 ms  step 1 ms  engine u32 as samples at 48 kHz within 0.1 ms",
    "range -60 dB .. 12 dB  noon 0 dB  coded 12 bits  engine uq4.28 as gain within 0.01 dB",
    "range 20 ms .. 1200 ms  noon 350 ms  coded 12 bits  engine u16 as samples at 32 kHz within 1 ms",
    "range 20 ms .. 1200 ms  noon 350 ms  coded 16 bits  engine uq16.16 as samples at 32 kHz within 1 %",
])  # fmt: skip
def test_thousands_of_codes_are_looked_at_soon(lines: str) -> None:
    start = time.monotonic()
    assert stops(_block(lines, "")) == []
    assert time.monotonic() - start < 5  # hundredths of a second; one by one it would be many


def test_an_item_without_engine_keeps_none() -> None:
    item: Item = product_of(_block(TIME, "")).items[-1]
    assert item.engine is None
