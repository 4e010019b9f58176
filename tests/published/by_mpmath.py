"""What the items of a layout file ask for, worked out a second time in mpmath with 60 digits.

It knows the layout file alone and imports nothing of paramc. Tapers, grids and conversions are written anew
from what the language says of them, so that both have to be wrong in the same way before a test is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

import mpmath

Json = Mapping[str, Any]
Real = Any
"""A number of mpmath, which publishes no types."""

mp = mpmath.mp.clone()
mp.dps = 60
_NEARER_THAN_TELLS = mp.mpf(10) ** -40
"""Two numbers that lie so near count as equal: all others that occur lie much further apart."""

# What a number in each unit is multiplied by to be seconds, hertz, cents.
_TO_BASE = {"us": "1e-6", "ms": "1e-3", "kHz": "1e3", "semitones": "100", "octaves": "1200"}
_FUNCTIONS: Mapping[str, Callable[..., Real]] = {
    "sqrt": mp.sqrt, "exp": mp.exp, "ln": mp.log, "lg": mp.log10, "sin": mp.sin, "cos": mp.cos,
    "tan": mp.tan, "min": min, "max": max, "abs": abs,
}  # fmt: skip


def number(text: str | int) -> Real:
    """A number as layout files write them, "0.05" or "1/3"."""
    exact = Fraction(text)
    return mp.mpf(exact.numerator) / exact.denominator


def _whole(x: Real) -> int | None:
    """The integer that a number is, or lies nearer to than can be told."""
    near = int(mp.nint(x))
    return near if abs(x - near) < _NEARER_THAN_TELLS * max(1, abs(near)) else None


def floor(x: Real) -> int:
    whole = _whole(x)
    return int(mp.floor(x)) if whole is None else whole


def ceil(x: Real) -> int:
    return -floor(-x)


def nearest(x: Real) -> int:
    """The nearest integer, a tie to the even one."""
    half = _whole(2 * x)
    if half is not None and half % 2:
        return 2 * ((half + 1) // 4)
    return int(mp.floor(x + mp.mpf("0.5")))


# ---- tapers


def taper(law: Json, first: Real, last: Real) -> Callable[[Real], Real]:
    """The value at a share of travel."""
    width = last - first
    match law["kind"]:
        case "straight":
            return lambda x: first + width * x
        case "geometric":
            step = mp.log(last / first)
            return lambda x: first * mp.exp(step * x)
        case "three point":
            noon = number(law["noon"])
            r = (last - noon) / (noon - first)
            if r == 1:
                return lambda x: first + width * x
            return lambda x: first + width * mp.expm1(2 * x * mp.log(r)) / mp.expm1(2 * mp.log(r))
        case "s curve":
            p = mp.log(mp.mpf("0.5") / number(law["share"]), 2)
            return lambda x: first + width * (
                (2 * x) ** p / 2 if 2 * x <= 1 else 1 - (2 - 2 * x) ** p / 2
            )
        case "points":
            return through([(number(x), number(y)) for x, y in law["points"]])
    raise ValueError(law)


def through(points: list[tuple[Real, Real]]) -> Callable[[Real], Real]:
    """The monotone cubic of F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5, 1984, in the basis of
    Hermite; at the ends the one-sided parabola, held within what is monotone."""
    widths = [b[0] - a[0] for a, b in pairwise(points)]
    rises = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)]
    if len(points) == 2:
        slopes = [rises[0], rises[0]]
    else:
        inner = []
        for (h0, h1), (d0, d1) in zip(pairwise(widths), pairwise(rises), strict=True):
            weights = 2 * h1 + h0, h1 + 2 * h0
            inner.append(sum(weights) / (weights[0] / d0 + weights[1] / d1))
        slopes = [_at_end(*widths[:2], *rises[:2]), *inner, _at_end(*widths[:-3:-1], *rises[:-3:-1])]

    def value(x: Real) -> Real:
        at = min(sum(x >= end for end, _ in points) - 1, len(widths) - 1)
        h, ((x0, y0), (_, y1)) = widths[at], points[at : at + 2]
        t = (x - x0) / h
        u = 1 - t
        return (
            y0 * u * u * (1 + 2 * t) + y1 * t * t * (1 + 2 * u)
            + h * t * u * (slopes[at] * u - slopes[at + 1] * t)
        )  # fmt: skip

    return value


def _at_end(h0: Real, h1: Real, d0: Real, d1: Real) -> Real:
    slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0:
        return mp.mpf(0)
    return 3 * d0 if d0 * d1 < 0 and abs(slope) > 3 * abs(d0) else slope


def undone(law: Json) -> Callable[[Real], Real]:
    """The travel at which a part of this law gives a share of its value end to end."""
    match law["kind"]:
        case "straight":
            return lambda share: share
        case "three point":
            noon = number(law["noon"])
            r = (1 - noon) / noon
            if r == 1:
                return lambda share: share
            return lambda share: mp.log1p(share * (r * r - 1)) / (2 * mp.log(r))
        case "s curve":
            p = mp.log(mp.mpf("0.5") / number(law["share"]), 2)
            return lambda share: (
                (2 * share) ** (1 / p) / 2 if 2 * share <= 1 else 1 - (2 - 2 * share) ** (1 / p) / 2
            )
        case "points":
            return _looked_for([(number(x), number(y)) for x, y in law["points"]])
    raise ValueError(law)


def _looked_for(points: list[tuple[Real, Real]]) -> Callable[[Real], Real]:
    """Where the monotone cubic through points has a value: looked for between the points around it."""
    value = through(points)

    def travel(share: Real) -> Real:
        for x, y in points:
            if y == share:
                return x
        [ends] = [(a[0], b[0]) for a, b in pairwise(points) if a[1] < share < b[1]]
        return mp.findroot(lambda x: value(x) - share, ends, solver="anderson", tol=mp.mpf(10) ** -80)

    return travel


def past_flat(x: Real, flat: Real) -> Real:
    """What travel counts as when a share of it about noon is flat."""
    if 2 * x <= 1 - flat:
        return x / (1 - flat)
    return 1 - (1 - x) / (1 - flat) if 2 * x >= 1 + flat else mp.mpf("0.5")


# ---- codes and values


def code_value(scale: Json, code: int) -> Real:
    """The value of a code that is not off."""
    grid, first, last = scale["grid"], number(scale["first"]), number(scale["last"])
    if grid["kind"] == "stepped":
        step = number(grid["step"])
        return first + code * (step if last > first else -step)
    return taper(scale["law"], first, last)(mp.mpf(code) / (2 ** grid["bits"] - 2))


def code_at(scale: Json, x: Real) -> int:
    """The code nearest to what a share of travel gives, counted in value on steps, in travel where coded."""
    grid, first, last = scale["grid"], number(scale["first"]), number(scale["last"])
    if grid["kind"] == "stepped":
        step = number(grid["step"])
        return nearest((taper(scale["law"], first, last)(x) - first) / (step if last > first else -step))
    return nearest(x * (2 ** grid["bits"] - 2))


def dialled(item: Json, knob: Json) -> Iterator[int]:
    """The item's code at each scaled reading of a knob, 0 to its top."""
    top, travel = 2 ** knob["adc_bits"] - 1, undone(knob["law"])
    for n in range(top + 1):
        x = travel(mp.mpf(n) / top)
        match item["kind"]:
            case "param":
                yield code_at(item["scale"], past_flat(x, number(item["flat"])))
            case "trim":
                yield code_at(item["scale"], x)
            case "selector":
                ways = len(item["ways"])
                yield item["places"][min(floor(x * ways), ways - 1)]
            case "flag":
                yield min(floor(2 * x), 1)


# ---- engine values


@dataclass(frozen=True)
class Number:
    """The unrounded engine value of a code, and the least and the greatest that its tolerance allows.

    tolerant: whether there is one; without it, the correctly rounded integer alone is good.
    """

    exact: Real
    low: Real
    high: Real
    tolerant: bool

    @property
    def rounded(self) -> int:
        return nearest(self.exact)

    @property
    def good(self) -> tuple[int, int]:
        """The lowest and the highest good integer; none where the highest is less."""
        return (ceil(self.low), floor(self.high)) if self.tolerant else (self.rounded, self.rounded)

    def share(self, value: int) -> Real:
        """The error of an integer as a share of what is allowed on its side, or else on the other."""
        error = value - self.exact
        sides = [self.high - self.exact, self.exact - self.low]
        if error < 0:
            sides.reverse()
        allowed = [side for side in sides if self.tolerant and side > _NEARER_THAN_TELLS]
        return abs(error) / (allowed[0] if allowed else mp.mpf("0.5"))


def in_use(item: Json) -> list[int]:
    """The codes that mean anything, ascending."""
    match item["kind"]:
        case "selector":
            return sorted(item["places"])
        case "flag":
            return [0, 1]
    return list(range(item["scale"]["codes"]))


def engine_number(item: Json, code: int) -> Number:
    """What the engine of an item asks for at a code in use."""
    engine, scale = item["engine"], item.get("scale")
    conversion, tolerance = engine["conversion"], engine["tolerance"]
    if conversion["kind"] == "as stored":
        return Number(mp.mpf(code), mp.mpf(code), mp.mpf(code), False)
    if scale is not None and scale["off_at_stop"] and code == 0:
        return Number(mp.mpf(0), mp.mpf(0), mp.mpf(0), False)
    if item["kind"] == "flag":
        value, unit = mp.mpf(code), ""
    elif item["kind"] == "selector":
        way = item["ways"][item["places"].index(code)]["number"]
        value, unit = number(way["number"]), way["unit"]
    else:
        value, unit = code_value(scale, code), scale["unit"]
    exact = converted(engine, unit, value)
    if tolerance is None:
        return Number(exact, exact, exact, False)
    width = number(tolerance["amount"]) * (abs(value) if tolerance["relative"] else 1)
    around = [value - width, value + width]
    if scale is not None:
        low, high = sorted((number(scale["first"]), number(scale["last"])))
        around = [min(max(side, low), high) for side in around]
    sides = [exact, *(converted(engine, unit, side) for side in around)]
    return Number(exact, min(sides), max(sides), True)


def converted(engine: Json, unit: str, value: Real) -> Real:
    """The number for a value, scaled by the format."""
    conversion, form = engine["conversion"], engine["format"]
    base = value * mp.mpf(_TO_BASE.get(unit, 1))
    rate = number(conversion.get("rate", 1))
    match conversion["kind"]:
        case "where one":
            plain = value / number(conversion["one"])
        case "gain":
            plain = mp.mpf(10) ** (value / 20)
        case "samples":
            plain = base * rate
        case "phase":
            plain = mp.mpf(2) ** form["bits"] * base / rate
        case "pole":
            plain = -mp.expm1(-2 * mp.pi * base / rate)
        case "pitch":
            plain = mp.mpf(2) ** (base / 1200)
        case "decay":
            plain = mp.mpf(10) ** (-3 / (base * rate))
        case "by expression":
            plain = worked_out(conversion["expression"], value)
        case kind:
            raise ValueError(kind)
    return plain * 2 ** form["fraction_bits"]


def worked_out(part: Json, value: Real) -> Real:
    """What an expression makes of a value."""
    match part["kind"]:
        case "number":
            return number(part["value"])
        case "name":
            return value
        case "negated":
            return -worked_out(part["of"], value)
        case "reciprocal":
            return 1 / worked_out(part["of"], value)
        case "sum":
            return mp.fsum(worked_out(term, value) for term in part["terms"])
        case "factors":
            return mp.fprod(worked_out(factor, value) for factor in part["factors"])
        case "power":
            return worked_out(part["base"], value) ** worked_out(part["exponent"], value)
        case "call":
            arguments = [worked_out(one, value) for one in part["arguments"]]
            return _FUNCTIONS[part["function"]](*arguments)
    raise ValueError(part)
