"""From what a potentiometer gives to a code: its own law undone, through the flat, along the taper."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Final, TypeVar

from paramc.model.items import Scaled, flat_of
from paramc.model.laws import Law, Straight, past_flat, undone
from paramc.model.panel import Knob
from paramc.model.scale import Scale, code_number
from paramc.numbers import doubles
from paramc.numbers.arithmetic import NEARS, REALS, Arithmetic
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
    """code_of_reading for n / top, n from 0 to top, in a fiftieth of the time.

    Doubles that know their error settle all but the few that lie close to half way between two codes.
    """
    near, exact = _code_number(NEARS, scale, pot, flat), _code_number(REALS, scale, pot, flat)

    def code_at(n: int) -> int:
        code = doubles.settled(near(doubles.ratio(n, top)), round)
        return nearest(exact(Fraction(n, top))) if code is None else code

    codes = [code_at(0)] * (top + 1)
    codes[top] = code_at(top)
    left = [(0, top)]
    while left:
        low, high = left.pop()
        if codes[low] == codes[high]:
            # Codes never turn back, so that those between two alike are the same.
            codes[low:high] = [codes[low]] * (high - low)
        elif high - low > 1:
            middle = (low + high) // 2
            codes[middle] = code_at(middle)
            left += [(low, middle), (middle, high)]
    return tuple(codes)


def codes_of_counts(item: Scaled, knob: Knob) -> tuple[int, ...]:
    """The item's code at each ADC count of the knob, from its anticlockwise end to its clockwise one."""
    codes = codes_of_readings(item.scale, knob.top, knob.law, flat_of(item))
    first, last = knob.ends
    width = abs(last - first)
    # Knob.reading_of in whole numbers, since there are thousands of counts; between the ends none is outside.
    twice = 2 * knob.top
    return tuple([codes[(twice * along + width) // (2 * width)] for along in range(width + 1)])


def _code_number(of: Arithmetic[N], scale: Scale, pot: Law, flat: Fraction) -> Callable[[N], N]:
    """From a share of the potentiometer's value to the code, before it is rounded."""
    counts_as, number = past_flat(of, flat), code_number(of, scale)
    if pot == _LINEAR:
        return lambda share: number(counts_as(share))
    travel = undone(of, pot)
    return lambda share: number(counts_as(travel(share)))
