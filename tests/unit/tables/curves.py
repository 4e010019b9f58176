"""Knobs as tests and measurements need them: curves, tolerances and their tunnels, worked out in decimals
of 40 digits, apart from the numbers of the package."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal, localcontext
from functools import cache
from itertools import pairwise

from paramc.tables.tunnel import Tunnel

U16 = (0, 65535)
_ONE = Decimal(1)
_FINE = Decimal(1).scaleb(-25)

Curve = Callable[[Decimal], Decimal]
Around = Callable[[Decimal], tuple[Decimal, Decimal]]
"""The least and the greatest value that will do for a value."""


@dataclass(frozen=True, slots=True)
class Knob:
    """A curve over travel, scaled to integers, and what tolerance it has."""

    name: str
    curve: Curve
    scale: Decimal
    around: Around


def three_point(low: int, noon: int, high: int) -> Curve:
    """The exponential through three values at travel 0, a half and 1, the middle one not half way."""
    ratio = Decimal(high - noon) / (noon - low)
    share = (high - low) / (ratio * ratio - 1)
    return lambda x: low + share * (ratio ** (2 * x) - 1)


def geometric(low: int, high: int) -> Curve:
    return lambda x: low * (Decimal(high) / low) ** x


def decibels(level: Decimal) -> Decimal:
    return Decimal(10) ** (level / 20)


def fader(x: Decimal) -> Decimal:
    """-60 dB to 6 dB, and below a twentieth of the travel fading to nothing."""
    return decibels(-60 + 66 * x) * min(_ONE, 20 * x)


def monotone_cubic(*values: int) -> Curve:
    """Through values at equal distances, with the derivative rule of F. N. Fritsch and J. Butland, "A method
    for constructing local monotone piecewise cubic interpolants", SIAM J. Sci. Stat. Comput. 5, 1984."""
    parts = len(values) - 1
    slopes = [Decimal(b - a) for a, b in pairwise(values)]
    inner = [2 * a * b / (a + b) if a * b > 0 else Decimal(0) for a, b in pairwise(slopes)]
    first, last = (3 * slopes[0] - slopes[1]) / 2, (3 * slopes[-1] - slopes[-2]) / 2
    ends = [min(max(end, Decimal(0)), 3 * slope) for end, slope in ((first, slopes[0]), (last, slopes[-1]))]
    tangents = [ends[0], *inner, ends[1]]

    def curve(x: Decimal) -> Decimal:
        part = min(int(x * parts), parts - 1)
        t = x * parts - part
        a, b = values[part], values[part + 1]
        rest = 1 - t
        return (
            a * (1 + 2 * t) * rest * rest + b * t * t * (3 - 2 * t)
            + tangents[part] * t * rest * rest - tangents[part + 1] * t * t * rest
        )

    return curve


def two_slopes(x: Decimal) -> Decimal:
    """What is sold as an audio pot: a fifth of the range on the first half of the travel."""
    half = Decimal("0.5")
    return x * 2 / 5 if x < half else Decimal("0.2") + (x - half) * 8 / 5


def percent(share: str) -> Around:
    part = Decimal(share) / 100
    return lambda v: (v * (1 - part), v * (1 + part))


def cents(amount: int) -> Around:
    ratio = Decimal(2) ** (Decimal(amount) / 1200)
    return lambda v: (v / ratio, v * ratio)


def within(amount: str) -> Around:
    width = Decimal(amount)
    return lambda v: (v - width, v + width)


def tenth_of_a_decibel(v: Decimal) -> tuple[Decimal, Decimal]:
    """0.1 dB, or a step of uq1.15 where that is more."""
    ratio, step = decibels(Decimal("0.1")), _ONE / 32768
    return min(v / ratio, v - step), max(v * ratio, v + step)


_TIME = three_point(20, 350, 2000)
_FREQUENCY = three_point(80, 1100, 12000)

EIGHT = (
    Knob("20..2000 ms noon 350, 1 %", _TIME, Decimal(32), percent("1")),
    Knob("20..2000 ms noon 350, 0.5 %", _TIME, Decimal(32), percent("0.5")),
    Knob("20..2000 ms noon 350, 0.1 %", _TIME, Decimal(32), percent("0.1")),
    Knob("80..12000 Hz noon 1100, 0.5 %", _FREQUENCY, Decimal(5), percent("0.5")),
    Knob("80..12000 Hz noon 1100, 5 cents", _FREQUENCY, Decimal(5), cents(5)),
    Knob("110..7040 Hz geometric, 2 cents", geometric(110, 7040), Decimal(9), cents(2)),
    Knob("fader to silence, 0.1 dB or 1 LSB", fader, Decimal(32768), tenth_of_a_decibel),
    Knob("7 points, monotone cubic, 0.5 %", monotone_cubic(20, 60, 150, 350, 700, 1200, 2000), Decimal(32),
         percent("0.5")),
)  # fmt: skip
"""Times in samples at 32 kHz, frequencies in steps of 0.2 Hz or a ninth of one, gains in uq1.15."""

KINKED = Knob("audio pot of two slopes, 1 LSB", two_slopes, Decimal(65000), within("0.0000154"))
SIXTEEN = Knob("80..12000 Hz noon 1100, 16 LSB", _FREQUENCY, Decimal(5), within("3.2"))
TABLED = (*EIGHT, KINKED)


@cache
def exact_of(knob: Knob, bits: int) -> tuple[Decimal, ...]:
    """The unrounded number of each code 0 .. 2^bits - 1, the last at full travel."""
    with localcontext() as context:
        context.prec = 40
        last = (1 << bits) - 1
        return tuple(knob.curve(Decimal(k) / last) * knob.scale for k in range(last + 1))


@cache
def bounds_of(knob: Knob, bits: int) -> tuple[tuple[Decimal, Decimal], ...]:
    """The unrounded bounds of each code, rid of the last digits, in which decimals err."""
    with localcontext() as context:
        context.prec = 40
        return tuple(
            ((low * knob.scale).quantize(_FINE), (high * knob.scale).quantize(_FINE))
            for exact in exact_of(knob, bits)
            for low, high in [knob.around(exact / knob.scale)]
        )


@cache
def tunnel_of(knob: Knob, bits: int) -> Tunnel:
    """The legal integers of each code, in u16."""
    pairs = [
        (
            max(U16[0], int(low.to_integral_value(ROUND_CEILING))),
            min(U16[1], int(high.to_integral_value(ROUND_FLOOR))),
        )
        for low, high in bounds_of(knob, bits)
    ]
    return Tunnel(tuple(low for low, _ in pairs), tuple(high for _, high in pairs))
