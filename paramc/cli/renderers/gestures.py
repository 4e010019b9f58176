"""How late each gesture is, and why: what the recogniser in C adds to a foot."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final, assert_never

from paramc.check.gestures import gesture_text
from paramc.cli.renderers.table import table
from paramc.frozen import dataclass
from paramc.layout.layout import Layout
from paramc.model.modes import (
    Bypass,
    Deed,
    Flip,
    Gesture,
    Hold,
    Jumper,
    Learn,
    NextPreset,
    Press,
    Reset,
    WhileHeld,
)
from paramc.numbers.quantity import decimal_text

BOUNCE_MS: Final = 20
"""What a jumper has to read otherwise before the recogniser believes it; P_BOUNCE in the header."""


@dataclass(frozen=True, slots=True)
class Latency:
    """A gesture of a mode, what it does, the milliseconds that pass before it does, and why."""

    mode: str
    gesture: str
    does: str
    added_ms: int
    why: str


def latencies(layout: Layout) -> Iterator[Latency]:
    """Every gesture, mode after mode, and behind them the taps, which belong to all open modes."""
    product = layout.product
    for mode in product.modes:
        ways = ((mode.enter, f"enters {mode.name}"), (mode.leave, f"leaves {mode.name}"))
        for gesture, does in ways:
            if gesture is not None:
                yield _of(mode.name, gesture, does)
        for one in mode.does:
            yield _of(mode.name, one.gesture, _deed(one.deed), undoes=one.undoes_press, twice=one.twice)
    if product.tap is not None:
        yield _of("", Press(product.tap.control), f"taps {product.tap.item}")


def _of(mode: str, gesture: Gesture, does: str, *, undoes: bool = False, twice: bool = False) -> Latency:
    added, why = _added(gesture)
    if undoes:
        why += "; gives the press back"
    if twice:
        why += "; then asks for the same once more"
    return Latency(mode, gesture_text(gesture), does, added, why)


def _added(gesture: Gesture) -> tuple[int, str]:
    match gesture:
        case Press():
            return 0, "acts in the step in which the switch first reads down"
        case Hold(controls, seconds, at_power_up):
            since = "switching on" if at_power_up else "the later press" if len(controls) > 1 else "the press"
            return round(seconds * 1000), f"the hold, from {since}"
        case Jumper():
            return BOUNCE_MS, "its bounces"
        case other:
            assert_never(other)


def _deed(deed: Deed) -> str:
    match deed:
        case Bypass():
            return "bypass"
        case Flip(flag):
            return f"flip {flag}"
        case NextPreset():
            return "next preset"
        case WhileHeld(item, at_most):
            return f"{item}, at most {decimal_text(at_most)} s"
        case Reset(scope):
            return f"reset {scope.value}"
        case Learn(pedal):
            return f"learn {pedal}"
        case other:
            assert_never(other)


def as_text(layout: Layout) -> list[str]:
    """A table of them; nothing where there are none."""
    found = list(latencies(layout))
    if not found:
        return []
    rows = [(one.mode, one.gesture, one.does, str(one.added_ms), one.why) for one in found]
    head = ("mode", "gesture", "does", "ms", "why")
    return ["Gestures, and the milliseconds that each waits before it acts; none is the beginning of another",
            "that is not given back:", "", *table(head, rows, "lllrl")]  # fmt: skip


def as_data(layout: Layout) -> list[dict[str, Any]]:
    """The same as JSON would have it."""
    return [
        {"mode": one.mode or None, "gesture": one.gesture, "does": one.does, "added_ms": one.added_ms,
         "why": one.why}
        for one in latencies(layout)
    ]  # fmt: skip
