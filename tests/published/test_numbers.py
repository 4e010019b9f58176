"""Against published values: decibels, pitch, potentiometer laws, fixed-point formats, rounding.

Each table names where its figures come from. A figure is met when our number, rounded to as many places as
are published, is that figure.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.numbers.formats import Format, format_that_holds, parse
from paramc.numbers.quantity import decimal_text
from paramc.numbers.real import PI, Real, add, divide, exp, ln, multiply, nearest, power, subtract, to_text

F = Fraction


def shows(number: Real, published: str) -> None:
    """The number, rounded to the last digit that is published, is what is published."""
    places = len(published.partition(".")[2])
    assert F(nearest(multiply(number, F(10**places))), 10**places) == F(published)


def ratio(decibels: Fraction) -> Real:
    return power(F(10), decibels / 20)


def decibels(number: Real) -> Real:
    return divide(multiply(ln(number), F(20)), ln(F(10)))


# Amplitude ratios: the definition, 20 lg(U / U0); the figures are in every handbook (common practice).
@pytest.mark.parametrize(
    ("level", "published"),
    [
        (-60, ".001"), (-40, ".01"), (-20, ".1"), (-12, ".251188643"), (-6, ".501187234"), (-3, ".707945784"),
        (-1, ".891250938"), (0, "1"), (1, "1.122018454"), (3, "1.412537545"), (6, "1.995262315"),
        (12, "3.981071706"), (20, "10"),
    ],
)  # fmt: skip
def test_decibels_to_ratio(level: int, published: str) -> None:
    shows(ratio(F(level)), published)


@pytest.mark.parametrize("level", [-60, -40, -20, 0, 20, 120])
def test_whole_decades_are_exact(level: int) -> None:
    assert ratio(F(level)) == F(10) ** (level // 20)
    assert decibels(F(10) ** (level // 20)) == level


# The same definition backwards (common practice).
@pytest.mark.parametrize(
    ("number", "published"),
    [
        (F(2), "6.020600"), (power(F(2), F(-1, 2)), "-3.010300"), (F(3), "9.542425"),
        (F(1, 127), "-42.076074"),
        (F(1, 255), "-48.130804"), (F(1, 1023), "-60.197513"), (F(1, 32768), "-90.308999"),
        (F(1, 65535), "-96.329466"),
        # Middle of the travel of audio pots of 10, 15, 20 % and of a square law.
        (F("0.10"), "-20.000"), (F("0.15"), "-16.478"), (F("0.20"), "-13.979"), (F("0.25"), "-12.041"),
    ],
)  # fmt: skip
def test_ratio_to_decibels(number: Real, published: str) -> None:
    shows(decibels(number), published)


# 0 dBu is the voltage of 1 mW in 600 ohm, 0 dBV is 1 V, both rms (common practice in audio).
DBU = power(F("0.001") * 600, F(1, 2))


@pytest.mark.parametrize(
    ("level", "reference", "published"),
    [
        (0, DBU, "0.774596669"), (4, DBU, "1.227653"), (-20, DBU, "0.077460"), (8, DBU, "1.945699"),
        (-10, F(1), "0.316228"),
    ],
)  # fmt: skip
def test_levels_in_volts(level: int, reference: Real, published: str) -> None:
    volts = multiply(ratio(F(level)), reference)
    shows(volts, published)


def test_levels_against_each_other() -> None:
    shows(multiply(multiply(ratio(F(4)), DBU), power(F(2), F(1, 2))), "1.736164")  # peak of +4 dBu
    shows(multiply(multiply(ratio(F(4)), DBU), power(F(8), F(1, 2))), "3.472327")  # peak to peak
    shows(decibels(divide(F(1), DBU)), "2.218487")  # 0 dBV in dBu
    shows(decibels(divide(ratio(F(-10)), DBU)), "-7.781513")  # -10 dBV in dBu
    shows(decibels(divide(multiply(ratio(F(4)), DBU), ratio(F(-10)))), "11.781513")  # the gap that is not 14


# ISO 16:1975: the A above middle C is 440 Hz; twelve equal semitones an octave; note numbers of MIDI 1.0.
@pytest.mark.parametrize(
    ("note", "published"),
    [
        (0, "8.175799"), (21, "27.5"), (28, "41.203445"), (40, "82.406889"), (45, "110"), (50, "146.832384"),
        (55, "195.997718"), (59, "246.941651"), (60, "261.625565"), (64, "329.627557"), (69, "440"),
        (81, "880"),
        (108, "4186.009045"), (127, "12543.853951"),
    ],
)  # fmt: skip
def test_pitch(note: int, published: str) -> None:
    shows(multiply(power(F(2), F(note - 69, 12)), F(440)), published)


# Equal temperament and just intervals in cents (common practice; arithmetic of the definition).
def test_intervals() -> None:
    def cents(interval: Fraction) -> Real:
        return multiply(divide(ln(interval), ln(F(2))), F(1200))

    shows(power(F(2), F(1, 12)), "1.0594630943593")
    shows(power(F(2), F(1, 1200)), "1.0005777895066")
    shows(cents(F(3, 2)), "701.955001")
    shows(cents(F(5, 4)), "386.313714")
    shows(cents(F(441, 440)), "3.930158")
    shows(cents(F(432, 440)), "-31.766654")
    assert cents(F(4)) == 2400


# The exponential through a given middle, (b^x - 1) / (b - 1) with b = ((1 - m) / m)^2: common practice. A
# middle of 10 % is "10 % AUD" in the data sheet CTS 450, revision B of 2020-05-20; others: common practice.
@pytest.mark.parametrize(
    ("middle", "base", "published"),
    [
        ("0.05", "361", [".00223", ".00933", ".05", ".22728", ".55371"]),
        ("0.10", "81", [".00690", ".02500", ".10", ".32500", ".63995"]),
        ("0.15", "32.1111", [".01333", ".04437", ".15", ".40144", ".69744"]),
        ("0.20", "16", [".02130", ".06667", ".20", ".46667", ".74172"]),
        ("0.25", "9", [".03072", ".09151", ".25", ".52452", ".77808"]),
    ],
)
def test_tapers_through_a_middle(middle: str, base: str, published: list[str]) -> None:
    m = F(middle)
    b = ((1 - m) / m) ** 2
    shows(b, base)
    for x, expected in zip(("0.10", "0.25", "0.50", "0.75", "0.90"), published, strict=True):
        share = divide(subtract(power(b, F(x)), F(1)), b - 1)
        shows(share, expected)
        if x == "0.50":
            assert share == m, "the middle is exact, not nearly so"


# k of the form (e^kx - 1) / (e^k - 1), the same curves (arithmetic of the definition).
@pytest.mark.parametrize(("middle", "k"), [("0.10", "4.394449"), ("0.15", "3.469202"), ("0.20", "2.772589")])
def test_tapers_as_exponentials(middle: str, k: str) -> None:
    shows(ln(((1 - F(middle)) / F(middle)) ** 2), k)


# Power laws through a given middle, x^p with p = lg m / lg 1/2 (arithmetic of the definition).
@pytest.mark.parametrize(
    ("middle", "p", "published"),
    [
        ("0.10", "3.321928", [".00048", ".01000", ".10", ".38456", ".70469"]),
        ("0.15", "2.736966", [".00183", ".02250", ".15", ".45504", ".74949"]),
        ("0.20", "2.321928", [".00477", ".04000", ".20", ".51274", ".78299"]),
    ],
)
def test_power_laws_through_a_middle(middle: str, p: str, published: list[str]) -> None:
    exponent = divide(ln(F(middle)), ln(F(1, 2)))
    shows(exponent, p)
    for x, expected in zip(("0.10", "0.25", "0.50", "0.75", "0.90"), published, strict=True):
        share = power(F(x), exponent)
        shows(share, expected)
        if x == "0.50":
            assert share == F(middle)
        if x == "0.25":
            assert share == F(middle) ** 2


# One-pole smoothing, 1 - exp(-2 pi f / F): common practice, arithmetic of the definition.
@pytest.mark.parametrize(
    ("corner", "rate", "published"),
    [
        (10, 48000, ".001308141"), (100, 48000, ".013004668"), (1000, 48000, ".122694231"),
        (5000, 48000, ".480297356"), (1000, 44100, ".132791509"),
    ],
)  # fmt: skip
def test_one_pole(corner: int, rate: int, published: str) -> None:
    shows(subtract(F(1), exp(multiply(PI, F(-2 * corner, rate)))), published)


# Gain of a loop with delay T that takes RT60 to fall by 60 dB: 10^(-3 T / RT60) (common practice).
@pytest.mark.parametrize(
    ("delay", "decay", "published"),
    [
        ("0.35", "3", ".446684"), ("0.5", "5", ".501187"), ("0.1", "1", ".501187"),
        ("0.0297", "2", ".902506"),
        ("1", "60", ".891251"),
    ],
)  # fmt: skip
def test_loop_gain_for_a_decay(delay: str, decay: str, published: str) -> None:
    shows(power(F(10), -3 * F(delay) / F(decay)), published)


def test_constants_to_fifty_digits() -> None:
    """pi, e, ln 2, ln 10 and the root of 2: On-Line Encyclopedia of Integer Sequences A000796, A001113,
    A002162, A002392, A002193 (digits from memory, each confirmed by the series in the unit tests)."""
    assert to_text(PI, 50) == "3.1415926535897932384626433832795028841971693993751"
    assert to_text(exp(F(1)), 50) == "2.7182818284590452353602874713526624977572470937"
    assert to_text(ln(F(2)), 50) == "0.69314718055994530941723212145817656807550013436026"
    assert to_text(ln(F(10)), 50) == "2.3025850929940456840179914546843642076011014886288"
    assert to_text(power(F(2), F(1, 2)), 50) == "1.4142135623730950488016887242096980785696718753769"


# Ranges and steps: two's complement with M + N bits, in the manner that counts the sign among M (another
# does not and calls q1.15 Q0.15). Common practice; the figures follow from the definition.
@pytest.mark.parametrize(
    ("name", "lowest", "highest", "step"),
    [
        ("q7", "-1", "0.9921875", 7), ("uq0.8", "0", "0.99609375", 8), ("q15", "-1", "0.999969482421875", 15),
        ("uq0.16", "0", "0.9999847412109375", 16), ("uq1.15", "0", "1.999969482421875", 15),
        ("uq8.8", "0", "255.99609375", 8), ("q8.8", "-128", "127.99609375", 8),
        ("uq4.12", "0", "15.999755859375", 12), ("q16.16", "-32768", "32767.9999847412109375", 16),
        ("q31", "-1", "0.9999999995343387126922607421875", 31),
    ],
)  # fmt: skip
def test_fixed_point_formats(name: str, lowest: str, highest: str, step: int) -> None:
    found = named(name)
    assert decimal_text(F(found.minimum, found.scale)) == lowest
    assert decimal_text(F(found.maximum, found.scale)) == highest
    assert F(1, found.scale) == F(1, 2) ** step


def named(name: str) -> Format:
    found = parse(name)
    assert found is not None
    return found


# Values in those formats, rounded to nearest (arithmetic of the definition).
@pytest.mark.parametrize(
    ("number", "q15", "uq16", "of_255", "of_65535"),
    [("0.7", 22938, 45875, 178, 45874), ("0.1", 3277, 6554, 26, 6554), ("1/3", 10923, 21845, 85, 21845)],
)
def test_encodings(number: str, q15: int, uq16: int, of_255: int, of_65535: int) -> None:
    assert nearest(F(number) * named("q15").scale) == q15
    assert nearest(F(number) * named("uq0.16").scale) == uq16
    # 0.1 of 255 is 25.5, a tie: the even integer is 26.
    assert nearest(F(number) * 255) == of_255
    # 0.7 of 65535 is 45874.5 and 0.1 is 6553.5, ties both.
    assert nearest(F(number) * 65535) == of_65535


def test_one_does_not_fit_a_format_that_ends_below_it() -> None:
    for name in ("q15", "uq0.8", "uq0.16"):
        assert not named(name).holds_rounded(F(1))
    assert not named("q15").holds_rounded(F("0.99999"))
    assert nearest(F("0.99999") * named("q15").scale) == 32768
    assert nearest(F("0.99999") * named("uq0.8").scale) == 256
    would_do = format_that_holds(F(0), F(1), named("q15"))
    assert would_do is not None and would_do.name == "uq1.15"


# IEEE 754-2008 4.3.1, roundTiesToEven.
@pytest.mark.parametrize(
    ("number", "integer"),
    [("0.5", 0), ("1.5", 2), ("2.5", 2), ("-0.5", 0), ("-1.5", -2), ("-2.5", -2),
     ("127.5", 128), ("63.5", 64), ("511.5", 512), ("0.49999999999999994", 0)],
)  # fmt: skip
def test_ties_to_even(number: str, integer: int) -> None:
    assert nearest(F(number)) == integer
    # As a root: the same tie where the number comes out of a power.
    root = power(F(number) ** 2, F(1, 2))
    assert nearest(root) == abs(integer)
    # As a sum that hides that it is rational.
    assert nearest(add(subtract(subtract(ln(F(6)), ln(F(3))), ln(F(2))), F(number))) == integer
