"""A hold that passes through a press which it does not give back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paramc.check.example import changed
from paramc.check.gestures import gesture_text
from paramc.check.words import called, capital
from paramc.frozen import dataclass
from paramc.model.modes import Gesture, Hold, Mode, Press
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Mark, Rule, Severity
from paramc.text.source import Span

_HELD = "press PUSH does bypass  hold PUSH for 1 s does next preset"

RULE = Rule(
    "press-not-undone",
    Severity.STOP,
    "A press acts as soon as the switch goes down, because a foot that has to wait for it plays out of time."
    " So every hold of that switch, alone or with another, passes through the press first. It says"
    " `undoes press`, which gives back what the press did. A hold that enters or leaves a mode cannot say so,"
    " and takes a switch whose press does nothing there. A press that enters or leaves a mode cannot be given"
    " back, so that its switch is not held there. At power up nothing is pressed before.",
    changed("press PUSH does bypass", _HELD),
    changed("press PUSH does bypass", f"{_HELD} undoes press"),
)


@dataclass(frozen=True, slots=True)
class _Pressed:
    """What a press does while some modes last: as messages say it, and whether a hold can give it back."""

    words: str
    place: Span | None
    undone: bool


def check(product: Product) -> Iterator[Diagnostic]:
    open_modes = [mode for mode in product.modes if mode.open]
    entered = [mode for mode in product.modes if not mode.open]
    yield from _passes_through(open_modes, entered)
    for mode in entered:
        yield from _passes_through([mode], [])


def _passes_through(modes: Sequence[Mode], entered: Sequence[Mode]) -> Iterator[Diagnostic]:
    """modes: those whose gestures count at one time. entered: those that are entered from there."""
    pressed: dict[str, _Pressed] = {}
    for mode in modes:
        for does in mode.does:
            _note(pressed, does.gesture, f"does something in {_name(mode)}", does.place, undone=True)
        _note(pressed, mode.leave, f"leaves {_name(mode)}")
    for mode in entered:
        _note(pressed, mode.enter, f"enters {_name(mode)}")
    deeds = [(does.gesture, does.undoes_press) for mode in modes for does in mode.does]
    ways = [*(mode.leave for mode in modes), *(mode.enter for mode in entered)]
    for gesture, undoes in (*deeds, *((way, False) for way in ways)):
        if not isinstance(gesture, Hold) or gesture.at_power_up:
            continue
        for control in gesture.controls:
            press = pressed.get(control)
            if press is None or (undoes and press.undone):
                continue
            sentence = (
                f"{capital(gesture_text(gesture))} passes through press {control}, which {press.words}, and"
                f" {'cannot' if undoes else 'does not'} undo it."
            )
            also = () if press.place is None else (Mark(press.place, "what the press does"),)
            try_ = "undoes press" if press.undone and gesture not in ways else ""
            yield Diagnostic(RULE, sentence, gesture.place, also, try_=try_)


def _note(
    pressed: dict[str, _Pressed], gesture: Gesture | None, words: str, place: Span | None = None,
    *, undone: bool = False,
) -> None:  # fmt: skip
    if isinstance(gesture, Press):
        pressed[gesture.control] = _Pressed(words, place or gesture.place, undone)


def _name(mode: Mode) -> str:
    return called("mode", mode.label or mode.name)
