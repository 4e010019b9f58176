"""`paramc compare`: what a change does, between two product files or releases."""

from __future__ import annotations

from paramc.cli import say
from paramc.cli.either import layout_of
from paramc.cli.files import Trouble
from paramc.cli.renderers import comparison
from paramc.cli.say import plain
from paramc.release.compare import FORMAT, compare, comparison_value


def run(old: str, new: str, form: str) -> int:
    """form: "text", "notes" or "json". Exit status: 0 compared, 1 a file at fault or two products."""
    try:
        before = layout_of(old)
        after = layout_of(new, before)
        found = compare(before, after)
        if isinstance(found, str):
            raise Trouble(plain(found))
    except Trouble as trouble:
        if form == "json":
            say.data({"format": FORMAT, "problems": [str(trouble)]})
        say.person(str(trouble))
        return 1
    match form:
        case "json":
            say.data(comparison_value(found))
        case "notes":
            say.out(*comparison.as_notes(found))
        case _:
            say.out(*comparison.as_text(found))
    return 0
