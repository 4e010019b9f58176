"""What is said to people beside an item, a mode or a preset."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.model.items import Note, Signal
from paramc.syntax import nodes


def read_notes(lines: Iterable[nodes.Node]) -> tuple[Note, ...]:
    """The cautions, warnings, dangers and helps among the lines of a block, in their order."""
    notes = []
    for line in lines:
        match line:
            case nodes.Caution(text=text):
                notes.append(Note(Signal.CAUTION, text.value))
            case nodes.Warning(text=text):
                notes.append(Note(Signal.WARNING, text.value))
            case nodes.Danger(text=text):
                notes.append(Note(Signal.DANGER, text.value))
            case nodes.Help(text=text):
                notes.append(Note(Signal.HELP, text.value))
            case _:
                pass
    return tuple(notes)
