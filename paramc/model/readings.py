"""From what a potentiometer gives to a code: its own law undone, through the flat, along the taper."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Final, TypeVar

from paramc.model.laws import HALF, Law, Straight, past_flat, travel_at, undone, value_at
from paramc.model.scale import Scale, Stepped, code_number
from paramc.numbers import doubles
from paramc.numbers.arithmetic import NEARS, REALS, Arithmetic
from paramc.numbers.doubles import Near
from paramc.numbers.real import nearest

N = TypeVar("N")

_LINEAR: Final = Straight()
_NO_FLAT: Final = Fraction(0)


def code_of_reading(scale: Scale, share: Fraction, pot: Law = _LINEAR, flat: Fraction = _NO_FLAT) -> int:
    """The code nearest to the value at the travel where a potentiometer gives a share, 0 to 1, of its value
    end to end; flat is the share of travel about noon that counts as noon."""
    return nearest(_code_number(REALS, scale, pot, flat)(share))


def codes_of_readings(
    scale: Scale, top: int, pot: Law = _LINEAR, flat: Fraction = _NO_FLAT
) -> tuple[int, ...]:
    """code_of_reading for n / top, n from 0 to top, in a fiftieth of the time."""
    code_at = _code_at(scale, top, pot, flat)
    if scale.codes > top:
        return tuple(code_at(n) for n in range(top + 1))
    starts = _starts(scale, top, pot, flat, code_at)
    return _staircase(code_at(0), starts, top)


def codes_of_counts(scale: Scale, top: int, pot: Law, flat: Fraction, width: int) -> tuple[int, ...]:
    """The code at each ADC count of a knob, from its anticlockwise end to its clockwise one, `width` counts
    from it either way."""
    # Knob.reading_of in whole numbers, since there are thousands of counts. One that is wired the other way
    # round counts down from its anticlockwise end, and the upper of two readings is taken there too.
    code_at = _code_at(scale, top, pot, flat)
    if scale.codes > min(top, width):
        return tuple(code_at((2 * top * count + width) // (2 * width)) for count in range(width + 1))
    starts = _starts(scale, top, pot, flat, code_at)
    counts = [-((1 - 2 * reading) * width // (2 * top)) for reading in starts]
    return _staircase(code_at(0), counts, width)


def _code_at(scale: Scale, top: int, pot: Law, flat: Fraction) -> Callable[[int], int]:
    """The code of a reading, 0 to top. Doubles that know their error settle all but the few that lie close
    to half way between two codes."""
    near, exact = _code_number(NEARS, scale, pot, flat), _code_number(REALS, scale, pot, flat)

    def code_at(n: int) -> int:
        code = doubles.settled(near(doubles.ratio(n, top)), round)
        return nearest(exact(Fraction(n, top))) if code is None else code

    return code_at


def _staircase(lowest: int, starts: Iterable[int], top: int) -> tuple[int, ...]:
    """Codes from the lowest on, each from where it starts to where the next one does."""
    codes: list[int] = []
    code = lowest
    for start in starts:
        codes += [code] * (start - len(codes))
        code += 1
    return tuple(codes + [code] * (top + 1 - len(codes)))


def _starts(
    scale: Scale, top: int, pot: Law, flat: Fraction, code_at: Callable[[int], int]
) -> list[int]:
    """For each code above that of reading 0, up to that of top, the first reading that gives it or more.

    Where half a code below it lies, the whole way back from a code to a reading, settles all but the few
    that come close to a reading.
    """
    border, starts = _border(scale, pot, flat), [0]
    for code in range(code_at(0) + 1, code_at(top) + 1):
        share, error = border(code)
        reading, error = share * top, error * top
        start = math.ceil(reading - error) if error < 0.25 else 0
        if not reading + error < start:
            first = starts[-1]
            start = first + bisect_left(range(first, top), code, key=code_at)
        starts.append(start)
    return starts[1:]


def _border(scale: Scale, pot: Law, flat: Fraction) -> Callable[[int], Near]:
    """The share of a potentiometer's value half a code below a code: what undoes _code_number."""
    of, counted, narrower = NEARS, 2 * scale.codes - 2, NEARS.of(1 - flat)
    travel_of = travel_at(of, scale.law, scale.first, scale.last)
    share_of = value_at(of, pot, Fraction(0), Fraction(1))
    half, rest = of.of(HALF), of.of(flat)
    stepped = isinstance(scale.grid, Stepped)
    first, step = scale.first, scale.signed_step / 2 if stepped else _NO_FLAT
    begin, more = first.numerator * step.denominator, step.numerator * first.denominator
    below = first.denominator * step.denominator

    def border(code: int) -> Near:
        if stepped:
            travel = travel_of(doubles.ratio(begin + (2 * code - 1) * more, below))
        else:
            travel = doubles.ratio(2 * code - 1, counted)
        if flat:
            if doubles.below(travel, half):
                travel = of.multiply(travel, narrower)
            elif doubles.below(half, travel):
                travel = of.add(of.multiply(travel, narrower), rest)
            else:
                return doubles.UNKNOWN
        return share_of(travel)

    return border


def _code_number(of: Arithmetic[N], scale: Scale, pot: Law, flat: Fraction) -> Callable[[N], N]:
    """From a share of the potentiometer's value to the code, before it is rounded."""
    counts_as, number = past_flat(of, flat), code_number(of, scale)
    if pot == _LINEAR:
        return lambda share: number(counts_as(share))
    travel = undone(of, pot)
    return lambda share: number(counts_as(travel(share)))
