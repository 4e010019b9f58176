"""Cubic pieces: exact values, roots that are fractions, and enclosures of those that are not."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate
from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers.cubic import Cubics, arguments, near_arguments, near_values
from paramc.numbers.doubles import UNKNOWN, of_fraction
from paramc.numbers.irrational import Irrational
from paramc.numbers.real import Real, add, compare, multiply, nearest, power, subtract, to_text

F = Fraction
CUBE = Cubics((F(0), F(1)), ((F(0), F(0), F(0), F(1)),))
# Two pieces: a straight one from (0, 0) to (1, 1), then 1 + d + d^2 to (2, 3).
BENT = Cubics((F(0), F(1), F(2)), ((F(0), F(1), F(0), F(0)), (F(1), F(1), F(1), F(0))))
FALLING = Cubics((F(0), F(1)), ((F(5), F(-3), F(3), F(-2)),))
# Flat in the middle: (2d - 1)^3.
FLAT_INSIDE = Cubics((F(0), F(1)), ((F(-1), F(6), F(-12), F(8)),))
ALL = [CUBE, BENT, FALLING, FLAT_INSIDE]


@st.composite
def cubics(draw: st.DrawFn) -> Cubics:
    """Hermite pieces with slopes up to three times the rise, which never turn back; rising or falling."""
    positive = st.fractions(F(1, 20), 5, max_denominator=20)
    count = draw(st.integers(1, 4))
    steps = draw(st.lists(st.tuples(positive, positive), min_size=count, max_size=count))
    sign = draw(st.sampled_from([1, -1]))
    xs = list(accumulate((width for width, _ in steps), initial=F(0)))
    y, pieces = draw(st.fractions(-5, 5, max_denominator=9)), []
    for width, height in steps:
        rise = sign * height / width
        before, after = (rise * draw(st.fractions(0, 3, max_denominator=4)) for _ in range(2))
        bend = (3 * rise - 2 * before - after) / width
        pieces.append((y, before, bend, (before + after - 2 * rise) / width**2))
        y += sign * height
    return Cubics(tuple(xs), tuple(pieces))


def test_values_at_and_between_knots() -> None:
    assert BENT.values == (0, 1, 3)
    assert [BENT.value(F(x)) for x in ("0", "1/2", "1", "3/2", "2")] == [0, F(1, 2), 1, F(7, 4), 3]
    assert BENT.rising and not FALLING.rising
    assert FALLING.values == (5, 3)


def test_a_value_at_an_irrational_place() -> None:
    root = power(F(2), F(1, 2))
    # 1 + d + d^2 with d = root 2 - 1: 3 - root 2.
    found = BENT.value(root)
    assert to_text(found, 30) == to_text(subtract(F(3), root), 30)
    assert compare(CUBE.value(power(F(2), F(-1, 3))), F(1, 2)) == 0


@pytest.mark.parametrize(
    ("of", "value", "root"),
    [
        (CUBE, "1/8", "1/2"), (CUBE, "8/27", "2/3"), (CUBE, "0", "0"), (CUBE, "1", "1"),
        (BENT, "1/3", "1/3"), (BENT, "7/4", "3/2"), (BENT, "1", "1"), (BENT, "19/9", "5/3"),
        (FALLING, "4", "1/2"), (FALLING, "5", "0"), (FALLING, "3", "1"),
        (FLAT_INSIDE, "0", "1/2"), (FLAT_INSIDE, "-1/27", "1/3"),
    ],
)  # fmt: skip
def test_rational_roots_are_fractions(of: Cubics, value: str, root: str) -> None:
    found = arguments(of)(F(value))
    assert isinstance(found, Fraction)
    assert found == F(root)


def test_a_rational_root_where_the_curve_is_nearly_flat() -> None:
    piece = (F(1, 20), F(3, 100), F(-3, 500), F(1, 2500))
    of = Cubics((F(0), F(5), F(10)), ((F(0), F(0), F(3, 500), F(-1, 1250)), piece))
    root = F(13039, 1304)
    assert arguments(of)(of.value(root)) == root


def test_irrational_roots_never_tie() -> None:
    root = arguments(CUBE)(F(1, 2))
    assert isinstance(root, Irrational)
    assert to_text(root, 60) == to_text(power(F(1, 2), F(1, 3)), 60)
    close = F(to_text(root, 100))
    assert compare(root, close + F(1, 10**99)) == -1
    assert compare(root, close - F(1, 10**99)) == 1
    assert nearest(multiply(root, F(10**20))) == 79370052598409973738


def test_the_root_of_an_irrational_value() -> None:
    value = power(F(2), F(-1, 2))
    assert to_text(arguments(CUBE)(value), 50) == to_text(power(F(2), F(-1, 6)), 50)
    assert to_text(arguments(BENT)(value), 50) == to_text(value, 50)


@pytest.mark.parametrize("of", ALL)
@pytest.mark.parametrize("digits", [3, 40, 200])
def test_enclosures_are_narrow_wherever_the_root_lies(of: Cubics, digits: int) -> None:
    low, high = sorted((of.values[0], of.values[-1]))
    for share in ("1/1000000007", "1/7", "500000003/1000000007", "6/7", "1000000006/1000000007"):
        value = low + (high - low) * F(share)
        root = arguments(of)(value)
        if isinstance(root, Irrational):
            below, above = root.enclose(digits)
            assert above - below <= Decimal(10) ** (1 - digits)
            ends = sorted((of.value(F(below)), of.value(F(above))), key=lambda end: _fraction(end))
            assert _fraction(ends[0]) <= value <= _fraction(ends[1])


def _fraction(number: Real) -> Fraction:
    assert isinstance(number, Fraction)
    return number


@settings(deadline=None, max_examples=60)
@given(cubics(), st.fractions(0, 1, max_denominator=997))
def test_arguments_undo_values(of: Cubics, share: Fraction) -> None:
    x = of.knots[-1] * share
    assert arguments(of)(of.value(x)) == x


@settings(deadline=None, max_examples=60)
@given(cubics(), st.fractions(0, 1, max_denominator=997))
def test_doubles_keep_their_promise(of: Cubics, share: Fraction) -> None:
    x = of.knots[-1] * share
    value, error = near_values(of)(of_fraction(x))
    exact = _fraction(of.value(x))
    if isfinite(error):
        assert abs(F(value) - exact) <= F(error) <= 1e-9 * (1 + abs(exact))
    else:
        assert x in of.knots
    low, high = sorted((of.values[0], of.values[-1]))
    wanted = low + (high - low) * share
    found, error = near_arguments(of)(of_fraction(wanted))
    if isfinite(error):
        root = arguments(of)(wanted)
        assert compare(root, F(found) - F(error)) >= 0 >= compare(root, F(found) + F(error))
        assert error < 0.001 * float(of.knots[-1])


def test_doubles_are_close_where_the_function_is_not_flat() -> None:
    of = near_arguments(FALLING)
    for n in range(1, 100):
        _, error = of(of_fraction(F(3) + F(2 * n, 100)))
        assert error < 1e-11


@pytest.mark.parametrize("function", [near_values(BENT), near_arguments(BENT)])
def test_doubles_say_nothing_at_a_knot_or_beyond_the_ends(
    function: Callable[[tuple[float, float]], tuple[float, float]],
) -> None:
    assert function((1.0, 1e-15)) == UNKNOWN
    assert function(UNKNOWN) == UNKNOWN or not isfinite(function(UNKNOWN)[1])
    assert near_arguments(BENT)((4.0, 1e-15)) == UNKNOWN
    assert near_arguments(BENT)((0.0, 1e-15)) == UNKNOWN


def test_a_hidden_tie_is_seen() -> None:
    """The root of a value that only looks irrational."""
    value = subtract(power(add(power(F(2), F(1, 2)), F(1)), F(2)), multiply(power(F(2), F(1, 2)), F(2)))
    assert compare(value, F(3)) == 0
    root = arguments(Cubics((F(0), F(3)), ((F(0), F(1), F(1), F(0)),)))(multiply(value, F(2, 3)))
    assert compare(root, F(1)) == 0
