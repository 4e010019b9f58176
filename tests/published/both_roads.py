"""The engine values and the codes of knobs of a product on both roads: the compiler's and that of mpmath."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from paramc.layout.knobs import codes_along
from paramc.layout.layout import Layout
from paramc.model.items import Item, engine_numbers
from paramc.model.panel import Knob
from paramc.model.tunnels import engine_tunnel
from paramc.numbers.arithmetic import NEARS, REALS
from paramc.numbers.real import Real, multiply, nearest
from tests.published import by_mpmath
from tests.published.by_mpmath import Json, mp
from tests.target.independent import table_value

PLACES = 10**30
"""How finely exact numbers are compared."""


@dataclass(frozen=True)
class Values:
    """An item's engine values.

    exact: the greatest difference of the compiler's exact numbers from mpmath's, of code and tolerance, in
    units of 10^-30. doubles: of its doubles, as a share of the number. surely: whether every double was as
    near as it said. worst: the greatest error of the table as a share of what is allowed.
    differing: codes whose good or rounded integers are not the same on both roads. without: codes that have
    no good integer and take the rounded one, where the error is above what is allowed. outside: codes that
    have neither in the table.
    """

    name: str
    codes: int
    exact: int
    doubles: float
    surely: bool
    worst: float
    differing: list[int]
    outside: list[int]
    without: list[int]


@dataclass(frozen=True)
class Codes:
    """An item's codes by a knob. differing: readings whose code is not the same on both roads. off: how many
    have their neighbour's in the table; outside: readings that have none of these codes there."""

    name: str
    readings: int
    differing: list[int]
    off: int
    outside: list[int]


def engine_values(layout: Layout, file: Json) -> Iterator[Values]:
    """Each item with an engine. file: what the layout file says."""
    for engine in file["engines"]:
        [wanted] = [item for item in file["product"]["items"] if item["name"] == engine["item"]]
        yield _values(layout.product.item(engine["item"]), wanted, engine["table"])


def _values(item: Item, wanted: Json, table: Json) -> Values:
    codes = by_mpmath.in_use(wanted)
    real, near, tunnel = engine_numbers(REALS, item), engine_numbers(NEARS, item), engine_tunnel(item)
    exact, doubles, surely, worst = 0, 0.0, True, mp.mpf(0)
    differing, outside, without = [], [], []
    form = wanted["engine"]["format"]
    low, high = (-1 << form["bits"] - 1, 1 << form["bits"] - 1) if form["signed"] else (0, 1 << form["bits"])
    for code in codes:
        theirs = by_mpmath.engine_number(wanted, code)
        for ours, double, other in zip(
            real(code), near(code), (theirs.low, theirs.high, theirs.exact), strict=True
        ):
            exact = max(exact, _apart(ours, other))
            value, error = double
            gap = abs(value - other)
            surely = surely and bool(gap <= error)
            doubles = max(doubles, float(gap / abs(other)) if other else float(gap))
        good = theirs.good
        if (tunnel.lowest[code], tunnel.highest[code], tunnel.rounded[code]) != (*good, theirs.rounded):
            differing.append(code)
        least, greatest = max(good[0], low), min(good[1], high - 1)
        if least > greatest:
            without.append(code)
            least = greatest = theirs.rounded
        stored = table_value(table, code)
        if not least <= stored <= greatest:
            outside.append(code)
        worst = max(worst, theirs.share(stored))
    return Values(
        item.name, len(codes), exact, doubles, surely, float(worst), differing, outside, without
    )  # fmt: skip


def _apart(ours: Real, theirs: Any) -> int:
    return abs(nearest(multiply(ours, Fraction(PLACES))) - int(mp.nint(theirs * PLACES)))


def knob_codes(layout: Layout, file: Json) -> Iterator[Codes]:
    """Each item that a knob sets."""
    for one in file["knobs"]:
        [wanted] = [item for item in file["product"]["items"] if item["name"] == one["item"]]
        [panel] = [it for it in file["product"]["panel"] if it["name"] == one["controls"][0]]
        knob = layout.product.control(panel["name"])
        assert isinstance(knob, Knob)
        ours = codes_along(layout.product.item(one["item"]), knob)
        theirs = list(by_mpmath.dialled(wanted, panel))
        stored = [table_value(one["table"], n) for n in range(len(theirs))]
        around = [set(theirs[max(n - 1, 0) : n + 2]) for n in range(len(theirs))]
        yield Codes(
            name=one["name"],
            readings=len(theirs),
            differing=[n for n, (a, b) in enumerate(zip(ours, theirs, strict=True)) if a != b],
            off=sum(a != b for a, b in zip(stored, theirs, strict=True)),
            outside=[n for n, (a, b) in enumerate(zip(stored, around, strict=True)) if a not in b],
        )
