from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.formats import Format, format_that_holds, formats_that_hold, parse
from paramc.numbers.real import multiply, nearest, power


def named(text: str) -> Format:
    found = parse(text)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("text", "low", "high", "scale", "c_type", "integer"),
    [
        ("u8", 0, 255, 1, "uint8_t", True), ("u16", 0, 65535, 1, "uint16_t", True),
        ("u32", 0, 2**32 - 1, 1, "uint32_t", True), ("s8", -128, 127, 1, "int8_t", True),
        ("s16", -32768, 32767, 1, "int16_t", True), ("s32", -(2**31), 2**31 - 1, 1, "int32_t", True),
        ("q7", -128, 127, 128, "int8_t", False), ("q15", -32768, 32767, 32768, "int16_t", False),
        ("q31", -(2**31), 2**31 - 1, 2**31, "int32_t", False),
        ("q1.15", -32768, 32767, 32768, "int16_t", False),
        ("uq0.8", 0, 255, 256, "uint8_t", False), ("uq1.15", 0, 65535, 32768, "uint16_t", False),
        ("q16.16", -(2**31), 2**31 - 1, 65536, "int32_t", False), ("uq8.0", 0, 255, 1, "uint8_t", True),
    ],
)  # fmt: skip
def test_formats(text: str, low: int, high: int, scale: int, c_type: str, integer: bool) -> None:
    found = named(text)
    assert (found.minimum, found.maximum, found.scale, found.c_type) == (low, high, scale, c_type)
    assert found.integer is integer
    assert found.holds(low) and found.holds(high)
    assert not found.holds(low - 1) and not found.holds(high + 1)


@pytest.mark.parametrize(
    "text",
    ["", "u", "u7", "u64", "s0", "q8", "q16", "q0.8", "q0.16", "uq1.6", "uq9.8", "q1.014", "q01.15", "uq.8",
     "uq8.", "Q15", "u8 ", "sq1.7", "uq100.28", "q-1.9", "u\N{SUPERSCRIPT TWO}"],
)  # fmt: skip
def test_nothing_else_is_a_format(text: str) -> None:
    assert parse(text) is None


def test_every_split_of_a_word_is_a_format() -> None:
    fractional = [f"{kind}q{whole}.{bits - whole}" for kind in ("", "u") for bits in (8, 16, 32)
                  for whole in range(not kind, bits + 1)]  # fmt: skip
    for text in fractional:
        found = named(text)
        assert found.name == text
        assert found.signed is not text.startswith("u")
        assert 2**found.fraction_bits == found.scale


@pytest.mark.parametrize(
    ("lowest", "highest", "like", "would_do"),
    [
        # q15 cannot hold 1; without a sign the same bits can.
        ("0", "1", "q15", "uq1.15"), ("-1", "1", "q15", "q2.14"), ("0", "2", "q15", "uq2.14"),
        ("0", "1", "uq0.8", "uq1.7"), ("-0.5", "0.5", "uq0.16", "q15"), ("-1", "0", "uq1.7", "q7"),
        ("0", "300", "uq0.8", "uq9.7"), ("0", "300", "u8", "u16"), ("-1", "200", "u8", "s16"),
        ("-1", "100", "u8", "s8"), ("0", "255", "s8", "u8"), ("0", "70000", "s16", "s32"),
        # What fits is given back as it is.
        ("0", "0.5", "q15", "q15"), ("0", "255.4", "u8", "u8"),
        # A tie rounds to even: 255.5 would be 256, -0.5 is 0.
        ("0", "255.5", "u8", "u16"), ("-0.5", "3", "u8", "u8"), ("-0.51", "3", "u8", "s8"),
        ("0", "4294967296", "u8", None), ("-1", "4294967295", "s32", None), ("0", "2147483648", "q31", None),
    ],
)  # fmt: skip
def test_the_format_that_would_do(lowest: str, highest: str, like: str, would_do: str | None) -> None:
    found = format_that_holds(Fraction(lowest), Fraction(highest), named(like))
    assert (found and found.name) == would_do


def test_numbers_too_large_to_write_out_are_answered() -> None:
    beyond = power(Fraction(10), Fraction(10**8))
    assert format_that_holds(Fraction(0), beyond, named("u8")) is None
    assert not named("s32").holds_rounded(multiply(beyond, Fraction(-1)))


KINDS = st.sampled_from(
    ["u8", "u16", "u32", "s8", "s16", "s32", "q7", "q15", "q31", "uq1.15", "q4.12", "uq0.8", "uq8.8"]
)


@settings(deadline=None)
@given(st.fractions(-(2**34), 2**34), st.fractions(-(2**34), 2**34), KINDS)
def test_what_would_do_does_and_is_named_as_it_parses(a: Fraction, b: Fraction, like: str) -> None:
    low, high = min(a, b), max(a, b)
    for found in formats_that_hold(low, high, named(like)):
        assert parse(found.name) == found
        assert found.holds(round(low * found.scale)) and found.holds(round(high * found.scale))
        assert found.integer is named(like).integer


@settings(deadline=None)
@given(st.fractions(-300, 300), KINDS)
def test_holding_agrees_with_rounding(number: Fraction, like: str) -> None:
    found = named(like)
    assert found.holds_rounded(number) is found.holds(round(number * found.scale))
    number = Fraction(round(number * found.scale * 2), found.scale * 2)  # a tie, half of the time
    assert found.holds_rounded(number) is found.holds(nearest(number * found.scale))
