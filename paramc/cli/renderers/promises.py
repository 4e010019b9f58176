"""Which promises are kept, and how far each is from breaking."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from paramc.cli.say import plain
from paramc.layout.layout import Layout
from paramc.layout.promises import Assessed, assessed, bounds_text, subject_unit
from paramc.numbers.real import Real, to_text
from paramc.numbers.wording import real_text
from paramc.text.diagnostic import Diagnostic

_DIGITS = 12
_PLACES_SHOWN = 8


def as_text(layout: Layout) -> list[str]:
    """A paragraph for the report; empty where nothing is promised."""
    found = list(_assessed(layout))
    if not found:
        return []
    lines = ["Promises: worked out for every case that the file can make."]
    for one in found:
        lines.append("")
        lines.extend(_lines(layout, one))
    return lines


def as_data(layout: Layout) -> list[dict[str, Any]]:
    """The same as JSON would have it. Numbers are texts: exact, or rounded to twelve digits."""
    return [
        {
            "promise": one.promise.label,
            "scope": one.promise.scope.value,
            "bounds": bounds_text(layout.product, one.promise),
            "kept": not one.broken,
            "cases": one.cases,
            "worked_out": one.worked_out,
            "off": list(one.off),
            "worst": None if one.worst is None else one.worst.where,
            "there": None if one.number is None else _text(one.number),
            "spare": None if one.spare is None else _text(one.spare),
        }
        for one in _assessed(layout)
    ]


def _assessed(layout: Layout) -> Iterator[Assessed]:
    for promise in layout.product.promises:
        found = assessed(layout.product, layout.knobs, promise)
        if not isinstance(found, Diagnostic):
            yield found


def _lines(layout: Layout, one: Assessed) -> Iterator[str]:
    product, promise = layout.product, one.promise
    unit = subject_unit(product, promise)
    bounds = bounds_text(product, promise)
    yield f"  {plain(promise.label)}, {promise.scope.value}: {bounds}. {'Broken' if one.broken else 'Kept'}."
    if one.number is not None and one.spare is not None and one.worst is not None:
        nearest, spare = real_text(one.number, unit), real_text(one.spare, unit)
        yield f"  Nearest {plain(one.worst.where)}: {nearest}, which leaves {spare}. {_cases(one)}"
    elif one.worst is not None:
        yield f"  It is off, which lies below every level, {plain(one.worst.where)}. {_cases(one)}"
    else:
        yield "  Nothing was worked out."
    if one.off:
        shown = "; ".join(plain(place) for place in one.off[:_PLACES_SHOWN])
        more = f"; and {len(one.off) - _PLACES_SHOWN} more" if len(one.off) > _PLACES_SHOWN else ""
        yield f"  Not checked where an item of it is off: {shown}{more}."


def _cases(one: Assessed) -> str:
    cases = "1 case was" if one.worked_out == 1 else f"{one.worked_out} cases were"
    of = "" if one.worked_out == one.cases else f", of {one.cases}"
    return f"{cases[0].upper()}{cases[1:]} worked out{of}."


def _text(number: Real) -> str:
    return str(number) if isinstance(number, Fraction) else to_text(number, _DIGITS)
