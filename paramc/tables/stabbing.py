"""Straight lines through the legal integers of successive codes, in exact integers.

Each code x asks a line to pass between low and high there. As x grows, the lines that still pass are those
between two: the steepest, which touches some low and then some high, and the flattest, which touches some
high and then some low (J. O'Rourke, "An on-line algorithm for fitting straight lines between data ranges",
Communications of the ACM 24, 1981). A code whose high is above the steepest line and whose low is below the
flattest changes nothing, now or later, and costs two comparisons. Any other turns a line about the convex
hull of the lows or highs so far. The point of contact only moves forward on its hull, so that all the work
together grows as the number of codes.
"""

from __future__ import annotations

from collections.abc import Iterator

from paramc.frozen import dataclass

Point = tuple[int, int, int]
"""x, low, high: at x a line must be at least low and at most high."""


@dataclass(frozen=True, slots=True)
class Line:
    """y * run = height + rise * x, run above zero."""

    run: int
    rise: int
    height: int

    def floor_at(self, x: int, unit: int = 1) -> int:
        """The greatest integer not above y / unit."""
        return (self.height + self.rise * x) // (self.run * unit)

    def ceil_at(self, x: int, unit: int = 1) -> int:
        """The least integer not below y / unit."""
        return -((-self.height - self.rise * x) // (self.run * unit))


@dataclass(frozen=True, slots=True)
class Fan:
    """All lines through the points so far lie between these two; at the last x and beyond it, no such
    line is below the flattest nor above the steepest."""

    flattest: Line
    steepest: Line


def stab(first: Point, points: Iterator[Point]) -> tuple[Fan | None, Point | None]:
    """The lines through `first` and as many further points as possible, x strictly growing.

    The second part of the answer is the point that no line reaches any more, already taken from the
    iterator; None where all are reached. The fan is None where there was no second point.
    """
    second = next(points, None)
    if second is None:
        return None, None
    x0, low0, high0 = first
    x, low, high = second
    assert low0 <= high0 and low <= high
    # Both lines as y * run = height + rise * x, in local names: this loop is most of the time of a fit.
    steep_run = flat_run = x - x0
    steep_rise, flat_rise = high - low0, low - high0
    steep_height, flat_height = high * steep_run - steep_rise * x, low * flat_run - flat_rise * x
    # The hulls, of the lows seen from above and of the highs seen from below, from the point of contact on.
    low_x, low_y, low_at = [x0, x], [low0, low], 0
    high_x, high_y, high_at = [x0, x], [high0, high], 0
    missed: Point | None = None
    for x, low, high in points:
        steep, flat = steep_height + steep_rise * x, flat_height + flat_rise * x
        lowers, raises = high * steep_run < steep, low * flat_run > flat
        if not (lowers or raises):
            continue
        if high * flat_run < flat or low * steep_run > steep:
            missed = x, low, high
            break
        if lowers:
            steep_run, steep_rise = x - low_x[low_at], high - low_y[low_at]
            for at in range(low_at + 1, len(low_x)):
                run, rise = x - low_x[at], high - low_y[at]
                if rise * steep_run > steep_rise * run:
                    break
                steep_run, steep_rise, low_at = run, rise, at
            steep_height = high * steep_run - steep_rise * x
        if raises:
            flat_run, flat_rise = x - high_x[high_at], low - high_y[high_at]
            for at in range(high_at + 1, len(high_x)):
                run, rise = x - high_x[at], low - high_y[at]
                if rise * flat_run < flat_rise * run:
                    break
                flat_run, flat_rise, high_at = run, rise, at
            flat_height = low * flat_run - flat_rise * x
            while len(low_x) > low_at + 1:
                run, rise = x - low_x[-1], low - low_y[-1]
                if (low_y[-1] - low_y[-2]) * run > rise * (low_x[-1] - low_x[-2]):
                    break
                low_x.pop()
                low_y.pop()
            low_x.append(x)
            low_y.append(low)
        if lowers:
            while len(high_x) > high_at + 1:
                run, rise = x - high_x[-1], high - high_y[-1]
                if (high_y[-1] - high_y[-2]) * run < rise * (high_x[-1] - high_x[-2]):
                    break
                high_x.pop()
                high_y.pop()
            high_x.append(x)
            high_y.append(high)
    flattest, steepest = (
        Line(flat_run, flat_rise, flat_height), Line(steep_run, steep_rise, steep_height)
    )
    return Fan(flattest, steepest), missed
