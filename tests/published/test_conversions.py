"""Engine conversions against published tables: filters, decays, pitch, levels, crossfades.

Each table names where its figures come from. A figure is met when our number, rounded to as many places as
are published, is that figure.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.model.answers import evaluate
from paramc.model.engine import ByExpression, Conversion, Decay, Engine, Gain, Pitch, Pole
from paramc.model.expression import (
    Call,
    Expression,
    Factors,
    Function,
    Name,
    Negated,
    Number,
    Power,
    Reciprocal,
    Sum,
)
from paramc.numbers.formats import parse
from paramc.numbers.real import Real, multiply, nearest
from paramc.numbers.units import SPELLINGS

F = Fraction


def shows(number: Real, published: str) -> None:
    """The number, rounded to the last digit that is published, is what is published."""
    places = len(published.partition(".")[2])
    assert F(nearest(multiply(number, F(10**places))), 10**places) == F(published)


def converted(conversion: Conversion, value: str | int, unit: str) -> Real:
    """The unrounded number, through a format of 24 bits behind the point and back."""
    form = parse("uq8.24")
    assert form is not None
    exact = Engine(form, conversion).exact(F(value), SPELLINGS[unit])
    return multiply(exact, F(1, form.scale))


# ---- one-pole smoothing, y += a (x - y) with a = 1 - exp(-2 pi f / F): common practice, the time constant of
# the analogue filter; arithmetic of the definition.
ONE_POLE = [
    (10, 48000, ".001308141"), (100, 48000, ".013004668"), (1000, 48000, ".122694231"),
    (5000, 48000, ".480297356"), (1000, 44100, ".132791509"),
]  # fmt: skip


@pytest.mark.parametrize(("corner", "rate", "published"), ONE_POLE)
def test_one_pole(corner: int, rate: int, published: str) -> None:
    shows(converted(Pole(F(rate)), corner, "Hz"), published)
    shows(converted(Pole(F(rate)), str(F(corner, 1000)), "kHz"), published)


# ---- the same as expressions, and the usual stand-ins w and w / (1 + w), w = 2 pi f / F (common practice).
VALUE = Name("value")
PI_DIGITS = Number(F("3.14159265358979323846264338327950288"))


def number(text: str | int) -> Number:
    return Number(F(text))


def angle(rate: int) -> Expression:
    return Factors((number(2), PI_DIGITS, VALUE, Reciprocal(number(rate))))


@pytest.mark.parametrize(("corner", "rate", "published"), ONE_POLE)
def test_one_pole_as_an_expression(corner: int, rate: int, published: str) -> None:
    expression = Sum((number(1), Negated(Call(Function.EXP, (Negated(angle(rate)),)))))
    shows(converted(ByExpression(expression), corner, "Hz"), published)


@pytest.mark.parametrize(
    ("corner", "rate", "plain", "over"),
    [
        (10, 48000, ".001308997", ".001307286"), (100, 48000, ".013089969", ".012920836"),
        (1000, 48000, ".130899694", ".115748280"), (5000, 48000, ".654498469", ".395587232"),
        (1000, 44100, ".142475857", ".124707981"),
    ],
)  # fmt: skip
def test_stand_ins_for_one_pole(corner: int, rate: int, plain: str, over: str) -> None:
    w = angle(rate)
    shows(converted(ByExpression(w), corner, "Hz"), plain)
    shows(converted(ByExpression(Factors((w, Reciprocal(Sum((number(1), w)))))), corner, "Hz"), over)


# From a time constant: 1 - exp(-1 / (tau F)), the same law (common practice; arithmetic of the definition).
@pytest.mark.parametrize(
    ("tau", "published"),
    [("1", ".020617819"), ("10", ".002081165"), ("100", ".000208312"), ("1000", ".000020833")],
)
def test_a_time_constant_in_ms(tau: str, published: str) -> None:
    turns = Reciprocal(Factors((VALUE, number("0.001"), number(48000))))
    expression = Sum((number(1), Negated(Call(Function.EXP, (Negated(turns),)))))
    shows(converted(ByExpression(expression), tau, "ms"), published)


# ---- decay: the gain of a loop of delay D that takes T to fall by 60 dB, 10^(-3 D / T) (common practice;
# arithmetic of the definition). The loop's rate is 1 / D.
@pytest.mark.parametrize(
    ("delay", "decay", "published"),
    [
        ("0.35", "3", ".446684"), ("0.5", "5", ".501187"), ("0.1", "1", ".501187"),
        ("0.0297", "2", ".902506"), ("1", "60", ".891251"),
    ],
)  # fmt: skip
def test_loop_gain_for_a_decay(delay: str, decay: str, published: str) -> None:
    loop = Decay(1 / F(delay))
    shows(converted(loop, decay, "s"), published)
    shows(converted(loop, str(F(decay) * 1000), "ms"), published)


@pytest.mark.parametrize(("rate", "seconds"), [(48000, "0.5"), (44100, "3"), (1000, "0.02")])
def test_a_decay_falls_by_sixty_decibels(rate: int, seconds: str) -> None:
    """The definition backwards: the factor to the power of all steps is a thousandth."""
    steps = Number(F(seconds) * rate)
    factor = converted(Decay(F(rate)), seconds, "s")
    assert evaluate(Power(VALUE, steps), {"value": factor}) == F(1, 1000)


# ---- pitch. ISO 16:1975: the A above middle C is 440 Hz; twelve equal semitones an octave; note numbers of
# MIDI 1.0, where that A is 69.
@pytest.mark.parametrize(
    ("note", "published"),
    [
        (0, "8.175799"), (21, "27.5"), (28, "41.203445"), (40, "82.406889"), (45, "110"), (50, "146.832384"),
        (55, "195.997718"), (59, "246.941651"), (60, "261.625565"), (64, "329.627557"), (69, "440"),
        (81, "880"), (108, "4186.009045"), (127, "12543.853951"),
    ],
)  # fmt: skip
def test_note_frequencies(note: int, published: str) -> None:
    for times, unit in ((F(1), "semitones"), (F(100), "cents"), (F(1, 12), "octaves")):
        ratio = converted(Pitch(), str((note - 69) * times), unit)
        shows(multiply(ratio, F(440)), published)


# Equal temperament (arithmetic of the definition): a semitone is 2^(1/12), a cent 2^(1/1200).
def test_semitone_and_cent() -> None:
    shows(converted(Pitch(), 1, "semitones"), "1.0594630943593")
    shows(converted(Pitch(), 1, "cents"), "1.0005777895066")
    assert converted(Pitch(), 1, "octaves") == 2
    assert converted(Pitch(), -2400, "cents") == F(1, 4)


# Just intervals in cents, by an expression (common practice; arithmetic of the definition).
@pytest.mark.parametrize(
    ("ratio", "published"),
    [("3/2", "701.955001"), ("5/4", "386.313714"), ("441/440", "3.930158"), ("432/440", "-31.766654")],
)
def test_intervals(ratio: str, published: str) -> None:
    cents = Factors((number(1200), Call(Function.LN, (VALUE,)), Reciprocal(Call(Function.LN, (number(2),)))))
    shows(evaluate(cents, {"value": F(ratio)}), published)


# ---- decibels: 20 lg(U / U0), in every handbook (common practice). As gain, and backwards by an expression.
@pytest.mark.parametrize(
    ("level", "published"),
    [
        (-60, ".001"), (-40, ".01"), (-20, ".1"), (-12, ".251188643"), (-6, ".501187234"), (-3, ".707945784"),
        (-1, ".891250938"), (0, "1"), (1, "1.122018454"), (3, "1.412537545"), (6, "1.995262315"),
        (12, "3.981071706"), (20, "10"),
    ],
)  # fmt: skip
def test_decibels(level: int, published: str) -> None:
    shows(converted(Gain(), level, "dB"), published)
    power = Power(number(10), Factors((VALUE, Reciprocal(number(20)))))
    shows(converted(ByExpression(power), level, "dB"), published)
    backwards = Factors((number(20), Call(Function.LG, (power,))))
    assert evaluate(backwards, {"value": F(level)}) == level


@pytest.mark.parametrize(
    ("ratio", "published"),
    [
        ("2", "6.020600"), ("3", "9.542425"), ("1/127", "-42.076074"), ("1/255", "-48.130804"),
        ("1/1023", "-60.197513"), ("1/32768", "-90.308999"), ("1/65535", "-96.329466"), ("0.10", "-20.000"),
        ("0.15", "-16.478"), ("0.20", "-13.979"), ("0.25", "-12.041"),
    ],
)  # fmt: skip
def test_ratios_in_decibels(ratio: str, published: str) -> None:
    shows(evaluate(Factors((number(20), Call(Function.LG, (VALUE,)))), {"value": F(ratio)}), published)


# ---- crossfades: equal power by cosine and sine of a quarter turn, and by roots (common practice).
@pytest.mark.parametrize(
    ("x", "cosine", "sine"), [("0.5", ".707107", ".707107"), ("0.25", ".923880", ".382683")]
)
def test_equal_power(x: str, cosine: str, sine: str) -> None:
    quarter = Factors((VALUE, PI_DIGITS, Reciprocal(number(2))))
    for function, published in ((Function.COS, cosine), (Function.SIN, sine)):
        shows(evaluate(Call(function, (quarter,)), {"value": F(x)}), published)
    tangent = Factors((Call(Function.SIN, (quarter,)), Reciprocal(Call(Function.COS, (quarter,)))))
    same = Sum((Call(Function.TAN, (quarter,)), Negated(tangent)))
    assert nearest(multiply(evaluate(same, {"value": F(x)}), F(10**50))) == 0


def test_equal_power_by_roots() -> None:
    assert evaluate(Call(Function.SQRT, (VALUE,)), {"value": F(1, 4)}) == F(1, 2)
    shows(evaluate(Call(Function.SQRT, (Sum((number(1), Negated(VALUE))),)), {"value": F(1, 4)}), ".866025")


# ---- corner of a resistor and a capacitor, 1 / (2 pi R C) in Hz (common practice; arithmetic of the
# definition).
@pytest.mark.parametrize(
    ("ohms", "farads", "published"),
    [
        ("1e3", "1e-6", "159.1549"), ("10e3", "1e-9", "15915.4943"), ("1e6", "10e-9", "15.9155"),
        ("4.7e3", "47e-9", "720.4841"), ("1e3", "220e-9", "723.4316"), ("100e3", "220e-12", "7234.3156"),
        ("1e6", "470e-12", "338.6275"), ("470e3", "47e-9", "7.2048"), ("500e3", "22e-9", "14.4686"),
    ],
)  # fmt: skip
def test_corners(ohms: str, farads: str, published: str) -> None:
    corner = Reciprocal(Factors((number(2), PI_DIGITS, VALUE, number(farads))))
    shows(evaluate(corner, {"value": F(ohms)}), published)
