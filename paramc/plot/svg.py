"""The picture of a curve."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from paramc.emit.picture import MarkView, PictureView, picture
from paramc.image.codes import quantity_text
from paramc.model.clocks import clock_text
from paramc.model.laws import HALF
from paramc.plot.curve import PARTS, Curve, half_hours
from paramc.plot.raster import bounds, rounded

_WIDTH, _HEIGHT = 720, 460
_LEFT, _RIGHT, _TOP, _BOTTOM = 96, 696, 44, 384
_LINES: Final = 4  # the axis has so many equal parts


def as_svg(curve: Curve, older: Sequence[Fraction] = ()) -> bytes:
    """The curve, and beside it an older one: its values in the same unit and at the same travels."""
    low, high = bounds(curve, older)

    def across(travel: Fraction) -> str:
        return _number(_LEFT + (_RIGHT - _LEFT) * travel)

    def height(value: Fraction) -> str:
        return _number(_BOTTOM - (_BOTTOM - _TOP) * (value - low) / (high - low))

    def line(values: Sequence[Fraction]) -> str:
        return " ".join(f"{across(Fraction(at, PARTS))},{height(value)}" for at, value in enumerate(values))

    values = [low + (high - low) * Fraction(part, _LINES) for part in range(_LINES + 1)]
    hours = [
        (travel, clock.removesuffix(":00"))
        for travel in half_hours(curve.turn)
        if (clock := clock_text(travel, curve.turn)).endswith(":00")
    ]
    return picture(
        PictureView(
            width=_WIDTH, height=_HEIGHT, left=_LEFT, right=_RIGHT, top=_TOP, bottom=_BOTTOM,
            across=_RIGHT - _LEFT, down=_BOTTOM - _TOP, labels=_LEFT - 8, hour_line=_BOTTOM + 20,
            foot=_BOTTOM + 54, middle=(_LEFT + _RIGHT) // 2,
            noon=across(HALF),
            noon_height=height(curve.values[PARTS // 2]),
            title=f"Taper of {curve.kind} {curve.label}",
            text=_text(curve),
            heading=f"{curve.label}: {curve.range}",
            legend=_legend(bool(older)),
            lines=tuple(_value_mark(value, high - low, height(value), curve) for value in values),
            hours=tuple(MarkView(across(travel), "", text) for travel, text in hours),
            now=line(curve.values), has_older=bool(older), older=line(older),
        )
    )  # fmt: skip


def _value_mark(value: Fraction, width: Fraction, at: str, curve: Curve) -> MarkView:
    below = _number(Fraction(at) + 4)
    return MarkView(at, below, quantity_text(rounded(value, width), curve.unit))


def _legend(two: bool) -> str:
    text = "where the knob points, o'clock; the dot is noon"
    return f"{text}; unbroken: new, dashed: old" if two else text


def _text(curve: Curve) -> str:
    """The picture's twin in words."""
    return "; ".join(f"at {one.clock} {one.value}" for one in curve.positions) + "."


def _number(value: Fraction) -> str:
    tenths = round(value * 10)
    return f"{tenths // 10}.{tenths % 10}"
