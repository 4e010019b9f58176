"""`paramc decode`: a dump in plain words, as data, or as preset blocks."""

from __future__ import annotations

from paramc.cli import say
from paramc.cli.files import Trouble
from paramc.cli.images import recognised
from paramc.cli.layouts import trial_text
from paramc.cli.renderers.account import as_text
from paramc.image.account import account, account_value, refusal_value
from paramc.image.source import preset_blocks


def run(dump: str, releases: str, form: str) -> int:
    """form: "text", "json" or "source". Exit status: 0 read, 1 a file at fault or no layout for the dump."""
    try:
        chosen, notes = recognised(dump, releases)
    except Trouble as trouble:
        if form == "json":
            say.data(refusal_value((str(trouble),)))
        say.person(str(trouble))
        return 1
    said = account(chosen.contents, chosen.carried)
    say.person(*notes)
    trial = trial_text(chosen.candidate.layout)
    match form:
        case "json":
            say.data(account_value(said))
        case "source":
            say.out(*preset_blocks(said).splitlines())
        case _:
            say.out(*as_text(said), *(["", trial] if trial else []))
    return 0
