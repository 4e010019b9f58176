"""A hold that passes through a press which it does not give back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paramc.check.example import changed
from paramc.check.gestures import gesture_text
from paramc.check.words import called, capital
from paramc.model.modes import Does, Gesture, Hold, Mode, Press
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity

_HELD = "press PUSH does bypass  hold PUSH for 1 s does next preset"

RULE = Rule(
    "press-not-undone",
    Severity.STOP,
    "A press acts as soon as the switch goes down, because a foot that has to wait for it plays out of time."
    " So every hold of that switch, alone or with another, passes through the press first. It says"
    " `undoes press`, which gives back what the press did. A hold that enters or leaves a mode cannot say so,"
    " and takes a switch whose press does nothing there; at power up nothing is pressed before.",
    changed("press PUSH does bypass", _HELD),
    changed("press PUSH does bypass", f"{_HELD} undoes press"),
)


def check(product: Product) -> Iterator[Diagnostic]:
    open_modes = [mode for mode in product.modes if mode.open]
    entered = [mode for mode in product.modes if not mode.open]
    yield from _passes_through(open_modes, [mode.enter for mode in entered if mode.enter is not None])
    for mode in entered:
        yield from _passes_through([mode], [])


def _passes_through(modes: Sequence[Mode], enters: Sequence[Gesture]) -> Iterator[Diagnostic]:
    """modes: those whose gestures count at one time. enters: what ends that time by entering another."""
    pressed: dict[str, tuple[Does, Mode]] = {}
    for mode in modes:
        for does in mode.does:
            if isinstance(does.gesture, Press):
                pressed[does.gesture.control] = does, mode
    leaves = [mode.leave for mode in modes if mode.leave is not None]
    holds = [(does.gesture, does.undoes_press) for mode in modes for does in mode.does]
    for gesture, undone in (*holds, *((gesture, False) for gesture in (*enters, *leaves))):
        if undone or not isinstance(gesture, Hold) or gesture.at_power_up:
            continue
        for control in gesture.controls:
            if control not in pressed:
                continue
            does, mode = pressed[control]
            owner = called("mode", mode.label or mode.name)
            sentence = (
                f"{capital(gesture_text(gesture))} passes through press {control}, which does something in"
                f" {owner}, and does not undo it."
            )
            also = () if does.place is None else (Mark(does.place, "what the press does"),)
            try_ = "undoes press" if gesture in [one.gesture for one in mode.does] else ""
            yield Diagnostic(RULE, sentence, gesture.place, also, try_=try_)
