"""Floor, nearest, comparison and text: right at ties and beside them, the same whatever the machine does."""

from __future__ import annotations

import decimal
import math
from collections.abc import Callable, Iterator
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.numbers import doubles
from paramc.numbers.doubles import Near
from paramc.numbers.real import (
    PI,
    Irrational,
    Real,
    add,
    ceil,
    compare,
    exp,
    floor,
    ln,
    multiply,
    nearest,
    negate,
    power,
    subtract,
    to_text,
)
from tests.unit.numbers import second_road

F = Fraction
HIDDEN_ZERO = subtract(subtract(ln(F(6)), ln(F(2))), ln(F(3)))


@pytest.mark.parametrize(
    ("square", "integer"), [("6.25", 2), ("12.25", 4), ("0.25", 0), ("2.25", 2), ("20.25", 4), ("30.25", 6)]
)
def test_exact_ties_go_to_the_even_integer(square: str, integer: int) -> None:
    assert nearest(power(F(square), F(1, 2))) == integer
    assert nearest(negate(power(F(square), F(1, 2)))) == -integer


@pytest.mark.parametrize("half", ["0.5", "1.5", "2.5", "3.5", "-0.5", "-1.5", "-2.5", "1000000000000.5"])
def test_a_tie_that_the_tree_hides_is_still_a_tie(half: str) -> None:
    number = add(HIDDEN_ZERO, F(half))
    assert isinstance(number, Irrational)
    assert nearest(number) == round(F(half))
    assert compare(number, F(half)) == 0


@pytest.mark.parametrize("whole", [-3, -1, 0, 1, 2, 10**12])
def test_an_integer_that_the_tree_hides_is_that_integer(whole: int) -> None:
    number = add(HIDDEN_ZERO, F(whole))
    assert (floor(number), nearest(number), ceil(number)) == (whole, whole, whole)
    assert to_text(number, 20) == to_text(F(whole), 20)


# An irrational number, and how many units of 10**-PLACES the second road counts for it.
NUMBERS: list[tuple[str, Real, int]] = [
    ("root of 2", power(F(2), F(1, 2)), second_road.root(F(2), 2)),
    ("1 dB", power(F(10), F(1, 20)), second_road.root(F(10), 20)),
    ("audio 10 % at a third", power(F(81), F(1, 3)), second_road.root(F(81), 3)),
    ("cent", power(F(2), F(1, 1200)), second_road.root(F(2), 1200)),
    ("e", exp(F(1)), second_road.exponential(second_road.ONE)),
    ("decay of a pole", exp(F(-1, 48)), second_road.exponential(second_road.units(F(-1, 48)))),
    ("ln 2", ln(F(2)), second_road.logarithm(F(2))),
]


@pytest.mark.parametrize("digit", [18, 30, 40, 60, 90])
@pytest.mark.parametrize(("what", "number", "units"), NUMBERS, ids=[name for name, _, _ in NUMBERS])
@pytest.mark.parametrize("tie", ["0.5", "2.5", "3.5", "-4.5", "16777216.5"])
def test_near_ties_that_no_double_can_see(digit: int, what: str, number: Real, units: int, tie: str) -> None:
    """tie * number / (number cut after so many digits) is the tie but for the last of these digits."""
    cut = 10 ** (second_road.PLACES - digit)
    below = F(units // cut * cut, second_road.ONE)
    above = below + F(cut, second_road.ONE)
    outwards = multiply(number, F(tie) / below)
    inwards = multiply(number, F(tie) / above)
    away = int(math.copysign(math.floor(abs(float(tie))) + 1, float(tie)))
    towards = int(F(tie))
    for one in (outwards, inwards):
        assert isinstance(one, Irrational)
        value, error = one.approx()
        assert abs(F(value) - F(tie)) < F(error), "the double and its error reach over the tie"
        assert error < 0.01
    # Both are the same double or next to it: a program that rounds the double is wrong about one of them.
    assert abs(outwards.approx()[0] - inwards.approx()[0]) <= 4 * math.ulp(float(tie))  # type: ignore[union-attr]
    assert nearest(outwards) == away
    assert nearest(inwards) == towards
    sign = 1 if F(tie) > 0 else -1
    assert compare(outwards, F(tie)) == sign
    assert compare(inwards, F(tie)) == -sign
    assert compare(outwards, inwards) == sign
    whole = int(F(tie) + F(1, 2))
    up, down = (outwards, inwards) if sign > 0 else (inwards, outwards)
    beyond, before = add(up, F(1, 2)), add(down, F(1, 2))
    assert (floor(beyond), ceil(beyond)) == (whole, whole + 1)
    assert (floor(before), ceil(before)) == (whole - 1, whole)


def test_the_double_alone_is_wrong_about_a_near_tie() -> None:
    """The check above would be empty if rounding the double always happened to be right."""
    wrong = 0
    for _, number, units in NUMBERS:
        cut = 10 ** (second_road.PLACES - 40)
        below = F(units // cut * cut, second_road.ONE)
        for up, over in ((1, below), (0, below + F(cut, second_road.ONE))):
            tree = multiply(number, F("2.5") / over)
            assert isinstance(tree, Irrational)
            assert nearest(tree) == 2 + up
            wrong += round(tree.approx()[0]) != 2 + up
    assert wrong >= len(NUMBERS) // 2


REALS: list[Callable[[Fraction], Real]] = [
    lambda f: power(abs(f) + 1, F(1, 3)),
    lambda f: multiply(power(F(10), F(1, 20)), f),
    lambda f: subtract(exp(f / 4000), F(1)),
    lambda f: multiply(ln(abs(f) + 2), F(1000)),
    lambda f: add(multiply(PI, f), power(F(2), F(1, 2))),
    lambda f: multiply(add(PI, f), subtract(power(F(3), F(2, 3)), f)),
]
FRACTIONS = st.fractions(-5000, 5000, max_denominator=10**4)
KINDS = st.sampled_from(REALS)


@settings(deadline=None)
@given(FRACTIONS, KINDS)
def test_decisions_agree_with_a_tight_enclosure(f: Fraction, kind: Callable[[Fraction], Real]) -> None:
    number = kind(f)
    if isinstance(number, Fraction):
        assert (floor(number), ceil(number)) == (math.floor(number), math.ceil(number))
        assert nearest(number) == round(number)
        return
    low, high = map(F, number.enclose(150))
    value, error = number.approx()
    assert F(value) - F(error) <= low and high <= F(value) + F(error)
    assert floor(number) == math.floor(low) == math.floor(high)
    assert ceil(number) == math.ceil(low) == math.ceil(high)
    assert nearest(number) == round(low) == round(high)
    assert compare(number, low) >= 0 and compare(number, high) <= 0
    assert compare(number, F(value)) == (low > F(value)) - (high < F(value))


@settings(deadline=None)
@given(FRACTIONS, FRACTIONS, KINDS, KINDS)
def test_comparison_is_an_order(
    f: Fraction, g: Fraction, kind: Callable[[Fraction], Real], other: Callable[[Fraction], Real]
) -> None:
    a, b = kind(f), other(g)
    assert compare(a, b) == -compare(b, a)
    assert compare(a, a) == 0
    assert compare(a, F(floor(a))) >= 0 > compare(a, F(floor(a) + 1))
    assert compare(a, b) * (compare(subtract(a, b), F(0))) >= 0


def _answers() -> Iterator[object]:
    for kind in REALS:
        for n in (-4999, -37, 1, 2, 350, 4096):
            number = kind(F(n, 7))
            yield floor(number), nearest(number), ceil(number)
            yield compare(number, F(nearest(number))), to_text(number, 12)
    for k in range(0, 1024, 31):
        yield nearest(multiply(power(F(85, 33), F(k, 1023)), F(32768)))


def test_no_mathematics_library_decides(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same answers with functions that are 60 units in the last place off, and with none at all."""
    expected = list(_answers())

    def spoilt(function: Callable[..., Near], by: float) -> Callable[..., Near]:
        def wrapped(*arguments: object) -> Near:
            value, error = function(*arguments)
            return value * (1 + by), error

        return wrapped

    for by in (60 * 2.0**-52, -60 * 2.0**-52):
        with monkeypatch.context() as patch:
            for name in ("exp", "ln", "power", "of_fraction"):
                patch.setattr(doubles, name, spoilt(getattr(doubles, name), by))
            assert list(_answers()) == expected
    with monkeypatch.context() as patch:
        for name in ("exp", "ln", "power", "of_fraction", "add", "multiply", "reciprocal"):
            patch.setattr(doubles, name, lambda *arguments: doubles.UNKNOWN)
        assert list(_answers()) == expected


def test_the_decimal_context_of_the_caller_decides_nothing() -> None:
    expected = list(_answers())
    with decimal.localcontext(prec=2, rounding=decimal.ROUND_UP, Emax=9, Emin=-9) as context:
        for signal in (decimal.Inexact, decimal.Rounded, decimal.Subnormal, decimal.FloatOperation):
            context.traps[signal] = True
        number = add(HIDDEN_ZERO, F("123456789.5"))
        assert nearest(number) == 123456790
        assert list(_answers()) == expected
        assert context.prec == 2


@pytest.mark.parametrize(
    ("number", "significant", "text"),
    [
        (F(1, 3), 4, "0.3333"), (F(5, 2), 1, "2"), (F(7, 2), 1, "4"), (F(-5, 2), 1, "-2"), (F(0), 3, "0"),
        (F(1200), 6, "1200"), (F(123456), 3, "123000"), (F("0.0001"), 3, "0.0001"), (F(999999), 3, "1000000"),
        (F(10) ** 20, 5, "1e20"), (F(-123456, 10**14), 3, "-1.23e-9"), (F(10) ** 16, 5, "10000000000000000"),
        (PI, 1, "3"), (PI, 10, "3.141592654"), (negate(PI), 3, "-3.14"),
        (power(F(10), F(1, 20)), 10, "1.122018454"),
        (power(F(10), F(-100)), 3, "1e-100"), (multiply(power(F(10), F(301, 2)), F(1)), 4, "3.162e150"),
        (add(HIDDEN_ZERO, F("0.125")), 2, "0.12"), (HIDDEN_ZERO, 5, "0"),
    ],
)  # fmt: skip
def test_text(number: Real, significant: int, text: str) -> None:
    assert to_text(number, significant) == text


@settings(deadline=None)
@given(FRACTIONS, KINDS, st.integers(1, 60))
def test_text_is_correctly_rounded(f: Fraction, kind: Callable[[Fraction], Real], significant: int) -> None:
    number = kind(f)
    low, high = (number, number) if isinstance(number, Fraction) else map(F, number.enclose(150))
    for bound in (low, high):
        tens = 0
        while bound and abs(bound) >= F(10) ** (tens + 1):
            tens += 1
        while bound and abs(bound) < F(10) ** tens:
            tens -= 1
        unit = F(10) ** (tens - significant + 1)
        assert F(to_text(number, significant)) == round(bound / unit) * unit
