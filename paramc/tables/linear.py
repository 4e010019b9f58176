"""The linear rule through a tunnel: no table at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paramc.tables.certificate import Certificate
from paramc.tables.table import WIDEST, LinearRule, evaluate
from paramc.tables.tunnel import Tunnel

_MOST_SHIFT = 24
_Corner = tuple[int, int]
"""A code and a bound there."""


def fit_linear(tunnel: Tunnel, certificate: Certificate) -> LinearRule | None:
    """The linear rule whose arithmetic is cheapest; None where there is none.

    Cheapest is in 16 bits before 32, then a shift by whole bytes, then the least shift.
    """
    if certificate.pieces > 1:
        return None
    rules = (*_rules(tunnel, False), *_rules(tunnel.negated(), True))
    return next(
        (
            rule
            for rule in sorted(rules, key=_cost)
            if tunnel.holds([evaluate(rule, k) for k in range(tunnel.codes)])
        ),
        None,
    )


def _cost(rule: LinearRule) -> tuple[bool, bool, int]:
    most = (rule.entries - 1) * rule.multiplier + rule.offset
    return most >= 1 << 16, rule.shift % 8 != 0, rule.shift


def _rules(tunnel: Tunnel, falling: bool) -> Iterator[LinearRule]:
    """One rule for each shift that has one, through a tunnel that it must not fall in."""
    if tunnel.high[-1] < tunnel.low[0]:
        return
    # (k * multiplier + height) >> shift is legal exactly where k * multiplier + height lies within
    # low << shift .. ((high + 1) << shift) - 1. Only the corners of the hulls of both bounds can hinder.
    above = _hull(tunnel.low)
    below = [(k, -y) for k, y in _hull([-y for y in tunnel.high])]
    last = tunnel.codes - 1
    for shift in range(_MOST_SHIFT + 1):
        lows = [(k, y << shift) for k, y in above]
        highs = [(k, ((y + 1) << shift) - 1) for k, y in below]
        multiplier = _widest(lows, highs, (WIDEST - 1) // max(1, last))
        least, most = _heights(lows, highs, multiplier)
        base = least >> shift
        offset = least - (base << shift)
        if least <= most and multiplier * last + offset < WIDEST:
            yield LinearRule(tunnel.codes, -base if falling else base, falling, multiplier, offset, shift)


def _hull(bound: Sequence[int]) -> list[_Corner]:
    """The corners of the least concave curve that is nowhere below a bound."""
    corners: list[_Corner] = []
    for k, y in enumerate(bound):
        while len(corners) > 1:
            (a, at_a), (b, at_b) = corners[-2:]
            if (at_b - at_a) * (k - b) > (y - at_b) * (b - a):
                break
            corners.pop()
        corners.append((k, y))
    return corners


def _heights(lows: Sequence[_Corner], highs: Sequence[_Corner], multiplier: int) -> tuple[int, int]:
    """The least and the greatest height at code 0 with this multiplier; none where the least is greater."""
    return max(y - multiplier * k for k, y in lows), min(y - multiplier * k for k, y in highs)


def _widest(lows: Sequence[_Corner], highs: Sequence[_Corner], limit: int) -> int:
    """The multiplier, 0 .. limit, that leaves the most heights; where even it leaves none, none does.

    The number of heights is a concave function of the multiplier, being a minimum of straight lines less
    a maximum of some: it grows up to its greatest and then falls, so that halving finds that.
    """

    def room(multiplier: int) -> int:
        least, most = _heights(lows, highs, multiplier)
        return most - least

    low, high = 0, limit
    while low < high:
        middle = (low + high) // 2
        if room(middle + 1) > room(middle):
            low = middle + 1
        else:
            high = middle
    return low
