"""Modes, gestures, lamps and what each control sets, as rows of tables in C."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import assert_never

from paramc.emit.constants import numbers, unsigned
from paramc.emit.escape import c_comment, c_string, comment_lines
from paramc.emit.layout_rows import Rows
from paramc.emit.tables_view import block
from paramc.frozen import dataclass
from paramc.model.modes import (
    Bypass,
    Deed,
    Does,
    Flip,
    Gesture,
    Hold,
    Jumper,
    LampWord,
    Learn,
    Mode,
    NextPreset,
    Press,
    Reset,
    ResetScope,
    Shows,
    WhileHeld,
)
from paramc.model.panel import control_word
from paramc.model.product import Product

_NONE = "0xFFu"
_LONGEST = 2**32 - 1


@dataclass(frozen=True, slots=True)
class ControlView:
    """A control: its number and what it is."""

    name: str
    index: str
    comment: str


@dataclass(frozen=True, slots=True)
class ModeView:
    """A mode: its number, and its facts as C."""

    upper: str
    index: str
    comment: tuple[str, ...]
    leave: str
    open: str
    hidden: str


@dataclass(frozen=True, slots=True)
class GestureView:
    """A row of the table of gestures."""

    comment: str
    hold: str
    at_most: str
    about: str
    mode: str
    kind: str
    first: str
    second: str
    deed: str
    flags: str


@dataclass(frozen=True, slots=True)
class ShowView:
    """A row of the table of lamps."""

    period: str
    mode: str
    lamp: str
    state: str


@dataclass(frozen=True, slots=True)
class JumperView:
    """A jumper: its number from 1 for its constant, and from 0 for the tables."""

    number: str
    index: str
    comment: str


@dataclass(frozen=True, slots=True)
class Panel:
    """The whole panel. sets: the lines of the table of settings, mode after mode."""

    controls: tuple[ControlView, ...]
    modes: tuple[ModeView, ...]
    gestures: tuple[GestureView, ...]
    shows: tuple[ShowView, ...]
    jumpers: tuple[JumperView, ...]
    sets: tuple[str, ...]


def panel_of(product: Product, rows: Rows, nothing: int) -> Panel:
    """The panel of a product. nothing: the number of no item."""
    jumpers = _jumpers(product)
    controls = [control.name for control in product.panel]
    tables = _Tables(product, rows, controls, jumpers, product.prefix.upper())
    settings = [_setting(mode, control, rows, nothing) for mode in product.modes for control in controls]
    return Panel(
        controls=tuple(
            ControlView(control.name, unsigned(at), c_comment(f'{control_word(control)} "{control.label}"'))
            for at, control in enumerate(product.panel)
        ),
        modes=tuple(_mode(mode, at) for at, mode in enumerate(product.modes)),
        gestures=tuple(tables.gestures()),
        shows=tuple(
            tables.show(shows, at) for at, mode in enumerate(product.modes) for shows in mode.shows
        ),
        jumpers=tuple(
            JumperView(str(at + 1), unsigned(at), c_comment(c_string(jumper)))
            for at, jumper in enumerate(jumpers)
        ),
        sets=numbers(settings, "u"),
    )


def _setting(mode: Mode, control: str, rows: Rows, nothing: int) -> int:
    return next((rows.number(sets.item) for sets in mode.sets if sets.control == control), nothing)


def _jumpers(product: Product) -> list[str]:
    found = [gesture.jumper for gesture in _all_gestures(product) if isinstance(gesture, Jumper)]
    return list(dict.fromkeys(found))


def _all_gestures(product: Product) -> Iterator[Gesture | None]:
    for mode in product.modes:
        yield mode.enter
        yield mode.leave
        yield from (does.gesture for does in mode.does)


def _mode(mode: Mode, index: int) -> ModeView:
    label = mode.name if mode.label is None else mode.label
    way = "open" if mode.open else "hidden" if mode.hidden else "entered by a gesture"
    notes = [f"{note.signal.name}. {note.text}" for note in mode.notes]
    lines = [line for text in (f"Mode {label}, {way}.", *notes) for line in comment_lines(text, "  ")]
    return ModeView(
        upper=mode.name.upper(),
        index=unsigned(index),
        comment=block(lines),
        leave=milliseconds(mode.leave_after),
        open=unsigned(mode.open),
        hidden=unsigned(mode.hidden),
    )


def milliseconds(seconds: Fraction | None) -> str:
    """A time to the nearest millisecond; 0 for none."""
    return unsigned(0 if seconds is None else round(seconds * 1000))


def period(hertz: Fraction | None) -> str:
    """The time of one blink to the nearest millisecond, at least one; 0 for none."""
    return unsigned(0 if hertz is None else min(max(round(1000 / hertz), 1), _LONGEST))


@dataclass(frozen=True, slots=True)
class _Tables:
    """What rows of tables are made with: numbers for names. prefix: in capitals."""

    product: Product
    rows: Rows
    controls: list[str]
    jumpers: list[str]
    prefix: str

    def gestures(self) -> Iterator[GestureView]:
        for at, mode in enumerate(self.product.modes):
            if mode.enter is not None:
                yield self._gesture(mode.enter, "ENTER", unsigned(at), _NONE, f"enters {mode.name}")
            if mode.leave is not None:
                yield self._gesture(mode.leave, "LEAVE", unsigned(at), unsigned(at), f"leaves {mode.name}")
            where = _NONE if mode.open else unsigned(at)
            yield from (self._does(does, where) for does in mode.does)
        tap = self.product.tap
        if tap is not None:
            about = unsigned(self.rows.number(tap.item))
            yield self._gesture(Press(tap.control), "TAP", about, _NONE, f"taps {tap.item}")

    def _does(self, does: Does, where: str) -> GestureView:
        word, about, at_most, text = self._deed(does.deed)
        return self._gesture(
            does.gesture, word, about, where, text, at_most, undoes=does.undoes_press, twice=does.twice
        )

    def _gesture(
        self,
        gesture: Gesture,
        deed: str,
        about: str,
        mode: str,
        text: str,
        at_most: Fraction | None = None,
        undoes: bool = False,
        twice: bool = False,
    ) -> GestureView:
        hold: Fraction | None = None
        second, power_up = _NONE, False
        match gesture:
            case Press(control):
                kind, first, done = "PRESS", self._control(control), f"press {control}"
            case Hold(controls, seconds, power_up):
                kind, hold, first = "HOLD", seconds, self._control(controls[0])
                second = self._control(controls[1]) if len(controls) > 1 else _NONE
                done = f"hold {' + '.join(controls)}{' at power up' if power_up else ''}"
            case Jumper(jumper):
                kind, first = "JUMPER", unsigned(self.jumpers.index(jumper))
                done = f"jumper {c_string(jumper)}"
            case other:
                assert_never(other)
        flags = [
            word
            for word, said in (("AT_POWER_UP", power_up), ("UNDOES_PRESS", undoes), ("TWICE", twice))
            if said
        ]
        return GestureView(
            comment=c_comment(f"{done} {text}"),
            hold=milliseconds(hold),
            at_most=milliseconds(at_most),
            about=about,
            mode=mode,
            kind=f"{self.prefix}_{kind}",
            first=first,
            second=second,
            deed=f"{self.prefix}_DEED_{deed}",
            flags=" | ".join(f"{self.prefix}_{word}" for word in flags) or "0u",
        )

    def _deed(self, deed: Deed) -> tuple[str, str, Fraction | None, str]:
        """The deed's word, what it is about, how long at most, and how it reads."""
        match deed:
            case Bypass():
                return "BYPASS", "0u", None, "does bypass"
            case Flip(flag):
                return "FLIP", unsigned(self.rows.number(flag)), None, f"does flip {flag}"
            case NextPreset():
                return "NEXT", "0u", None, "does next preset"
            case WhileHeld(item, at_most):
                return "WHILE_HELD", unsigned(self.rows.number(item)), at_most, f"does while held {item}"
            case Reset(ResetScope.LOOK):
                return "RESET_LOOK", "0u", None, "does reset look"
            case Reset():
                return "RESET_SLOT", "0u", None, "does reset slot"
            case Learn(pedal):
                return "LEARN", self._control(pedal), None, f"does learn {pedal}"
            case other:
                assert_never(other)

    def show(self, shows: Shows, mode: int) -> ShowView:
        match shows.state:
            case LampWord.OFF:
                word = "LAMP_OFF"
            case LampWord.ON:
                word = "LAMP_ON"
            case None:
                word = "LAMP_BLINKS"
            case other:
                assert_never(other)
        return ShowView(
            period(shows.blinks), unsigned(mode), self._control(shows.lamp), f"{self.prefix}_{word}"
        )

    def _control(self, name: str) -> str:
        return unsigned(self.controls.index(name))
