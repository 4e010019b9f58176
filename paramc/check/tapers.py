"""Laws as written: the taper of a param between the ends of its range, and that of a knob's own part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final, assert_never

from paramc.check.proposals import WouldDo, first_that_does
from paramc.check.quantities import Asked, literal, number_in, short_literal
from paramc.check.statement_rules import OUT_OF_BOUNDS
from paramc.check.taper_rules import (
    AUDIO_SHARE,
    GEOMETRIC_ENDS,
    POINTS_ENDS,
    POINTS_ONE_WAY,
    POINTS_ORDER,
    S_SHARE,
)
from paramc.check.words import capital
from paramc.frozen import dataclass
from paramc.model.laws import Geometric, Law, Points, SCurve, Straight, ThreePoint, is_sound
from paramc.model.panel import travel_of_clock
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import UNITS, Dimension, Unit
from paramc.numbers.wording import real_text
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

MOST_POINTS: Final = 32

_SHARE: Final = next(unit for unit in UNITS if unit.dimension is Dimension.SHARE)
_S_LIMIT: Final = 25


@dataclass(frozen=True, slots=True)
class Along:
    """What a law leads along, from first to last in a unit.

    owner: 'param "Tilt"'. word: what the law is of it, "taper" or "pot". also: the places of the ends.
    """

    owner: str
    word: str
    unit: Unit
    first: Fraction
    last: Fraction
    also: tuple[Mark, ...] = ()

    @property
    def what(self) -> str:
        return f"{self.word} of {self.owner}"

    @property
    def ends(self) -> str:
        return f"{real_text(self.first, self.unit)} to {real_text(self.last, self.unit)}"


def read_law(node: nodes.Law, along: Along, would_do: WouldDo, found: list[Diagnostic]) -> Law | None:
    """The law that was written; None beside a stop where there is none. It is sound between the ends."""
    law = _law(node, along, would_do, found)
    assert law is None or is_sound(law, along.first, along.last), (law, along)
    return law


def read_pot(node: nodes.Pot, owner: str, found: list[Diagnostic]) -> Law | None:
    """The law of a knob's part, from 0 to 1; what is written of it counts in %."""
    if isinstance(node.law, nodes.GeometricLaw):
        sentence = f"{capital(owner)} has a part with a geometric law, and what a part gives begins at zero."
        because = ("Equal turns cannot multiply by an equal ratio from there.",)
        found.append(Diagnostic(GEOMETRIC_ENDS, sentence, node.span, (), because, try_="pot audio 10 %"))
        return None
    law = read_law(node.law, Along(owner, "pot", _SHARE, Fraction(0), Fraction(100)), None, found)
    match law:
        case ThreePoint(noon):
            return ThreePoint(noon / 100)
        case Points(points):
            return Points(tuple((travel, value / 100) for travel, value in points))
        case _:
            return law


def _law(node: nodes.Law, along: Along, would_do: WouldDo, found: list[Diagnostic]) -> Law | None:
    match node:
        case nodes.LinearLaw():
            return Straight()
        case nodes.GeometricLaw():
            return _geometric(node, along, would_do, found)
        case nodes.AudioLaw(share=share):
            percent = _share(share, "audio", along, 100, found)
            width = along.last - along.first
            return None if percent is None else ThreePoint(along.first + width * percent / 100)
        case nodes.SLaw(share=share):
            percent = _share(share, "s", along, _S_LIMIT, found)
            return None if percent is None else SCurve(percent / 100)
        case nodes.PointsLaw():
            return _points(node, along, found)
        case other:
            assert_never(other)


def _geometric(
    node: nodes.GeometricLaw, along: Along, would_do: WouldDo, found: list[Diagnostic]
) -> Law | None:
    product = along.first * along.last
    if product > 0:
        return Geometric()
    through = "has an end at zero" if product == 0 else "goes through zero"
    sentence = f"{capital(along.owner)} has a geometric taper, and its range {through}."
    because = ("Equal turns cannot multiply by an equal ratio there.",)
    share = nodes.Quantity(node.span, Quantity(Fraction(10), _SHARE))
    law = nodes.AudioLaw(node.span, share) if product == 0 else nodes.SLaw(node.span, share)
    text = f"taper {'audio' if product == 0 else 's'} {share.amount}"
    try_ = first_that_does([(text, nodes.Taper(node.span, law))], would_do)
    found.append(Diagnostic(GEOMETRIC_ENDS, sentence, node.span, along.also, because, try_))
    return None


def _share(
    share: nodes.Quantity, kind: str, along: Along, limit: int, found: list[Diagnostic]
) -> Fraction | None:
    """The percentage of an audio or s law, between 0 and a limit."""
    asked = Asked(f"share of the {kind} {along.what}", f"{along.word} {kind}")
    percent = number_in(share, _SHARE, asked, found)
    if percent is None or 0 < percent < limit:
        return percent
    sentence = f"The {asked.what}, {share.amount}, is not between 0 % and {limit} %."
    try_ = f"{asked.write} {1 if percent <= 0 else limit - 1} %"
    found.append(Diagnostic(AUDIO_SHARE if kind == "audio" else S_SHARE, sentence, share.span, try_=try_))
    return None


# ---- points


def _points(node: nodes.PointsLaw, along: Along, found: list[Diagnostic]) -> Law | None:
    points = node.points
    if len(points) > MOST_POINTS:
        sentence = f"The {along.what} has {len(points)} points, and {MOST_POINTS} are the most."
        found.append(Diagnostic(OUT_OF_BOUNDS, sentence, points[MOST_POINTS].span))
        return None
    told: list[Diagnostic] = []
    values = []
    for point in points:
        asked = Asked(f"point at {_clock(point)} of the {along.what}", _clock(point), along.also)
        value = number_in(point.value, along.unit, asked, told)
        if value is not None:
            values.append(value)
    if not told:
        told.extend(_wrong(node, values, along))
    found.extend(told)
    if told:
        return None
    return Points(
        tuple((travel_of_clock(p.clock.minutes), v) for p, v in zip(points, values, strict=True))
    )


def _wrong(node: nodes.PointsLaw, values: Sequence[Fraction], along: Along) -> Iterator[Diagnostic]:
    """What keeps points from being a law: their order first, since the rest relies on it."""
    points = node.points
    for before, point in pairwise(points):
        if point.clock.minutes <= before.clock.minutes:
            sentence = (
                f"The points of the {along.what} stand in the order of the clock, and {_clock(point)} does"
                f" not come after {_clock(before)}."
            )
            also = (Mark(before.clock.span, "the point before"),)
            twice = point.clock.minutes == before.clock.minutes
            try_ = "Leave one of the two out." if twice else f"Put {_clock(point)} before {_clock(before)}."
            yield Diagnostic(POINTS_ORDER, sentence, point.clock.span, also, try_=try_)
            return
    ends = tuple(_wrong_ends(node, values, along))
    yield from ends
    if not ends:
        yield from _turns(node, values, along)


def _wrong_ends(node: nodes.PointsLaw, values: Sequence[Fraction], along: Along) -> Iterator[Diagnostic]:
    firsts, lasts = _literal_at("7:00", along.first, along), _literal_at("5:00", along.last, along)
    if len(node.points) < 2:
        has = "has one point" if node.points else "has no points"
        sentence = f"The {along.what} {has}, and it leads from one at 7:00 to one at 5:00."
        try_ = f"{along.word} points {{ {firsts}  {lasts} }}" if firsts and lasts else ""
        yield Diagnostic(POINTS_ENDS, sentence, node.span, along.also, try_=try_)
        return
    sides = (
        (node.points[0], values[0], Fraction(0), along.first, "begin", "7:00", firsts),
        (node.points[-1], values[-1], Fraction(1), along.last, "end", "5:00", lasts),
    )
    for point, value, travel, end, verb, clock, try_ in sides:
        if travel_of_clock(point.clock.minutes) != travel:
            sentence = f"The points of the {along.what} {verb} at {_clock(point)} and not at {clock}."
            yield Diagnostic(POINTS_ENDS, sentence, point.clock.span, try_=try_)
        elif value != end:
            at = f"{verb}s at {real_text(end, along.unit)}"
            of = f"its range {at}" if along.word == "taper" else f"what a part gives {at}"
            sentence = f"The {along.what} has {point.value.amount} at {clock}, and {of}."
            yield Diagnostic(POINTS_ENDS, sentence, point.value.span, along.also, try_=try_)


def _turns(node: nodes.PointsLaw, values: Sequence[Fraction], along: Along) -> Iterator[Diagnostic]:
    """The first point whose value does not go on in the direction of the ends, and short of the last."""
    sign, final = 1 if along.last > along.first else -1, len(values) - 1
    for at, (before, value) in enumerate(pairwise(values), 1):
        beyond_end = at < final and (along.last - value) * sign <= 0
        if (value - before) * sign > 0 and not beyond_end:
            continue
        point, last = node.points[at], node.points[at - 1]
        does = "is already at" if beyond_end else "stays at" if value == before else "turns back to"
        sentence = (
            f"The {along.what} goes from {along.ends} in one direction, and at {_clock(point)} it {does}"
            f" {point.value.amount}."
        )
        further = (v for v in values[at + 1 :] if (v - before) * sign > 0 and (along.last - v) * sign >= 0)
        beyond = next(further, None)
        also = (Mark(last.span, "the point before"),)
        try_ = "" if beyond is None else _point_between(point, before, beyond, along)
        yield Diagnostic(POINTS_ONE_WAY, sentence, point.value.span, also, try_=try_)
        return


def _point_between(point: nodes.Point, one: Fraction, other: Fraction, along: Along) -> str:
    room = abs(other - one) / 4
    low, high = min(one, other) + room, max(one, other) - room
    text = short_literal((one + other) / 2, low, high, along.unit)
    return f"{_clock(point)} {text}" if text else ""


def _clock(point: nodes.Point) -> str:
    return point.clock.span.text


def _literal_at(clock: str, value: Fraction, along: Along) -> str:
    text = literal(value, along.unit)
    return f"{clock} {text}" if text else ""
