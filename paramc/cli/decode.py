"""`paramc decode`: a dump in plain words, as data, or as preset blocks."""

from __future__ import annotations

from paramc.cli import say
from paramc.cli.files import Trouble
from paramc.cli.images import recognised
from paramc.cli.layouts import layouts_at, trial_text
from paramc.cli.renderers.account import as_text
from paramc.image.account import Account, account_of, account_value, refusal_value
from paramc.image.source import preset_blocks
from paramc.layout.layout import Layout


def run(dump: str, releases: str, form: str) -> int:
    """form: "text", "json" or "source". Exit status: 0 read, 1 a file at fault or no layout for the dump."""
    troubles: list[str] = []
    try:
        at_hand, troubles = layouts_at(releases)
        found, notes = recognised(dump, at_hand)
    except Trouble as trouble:
        if form == "json":
            say.data(refusal_value((*troubles, str(trouble))))
        say.person(*troubles, str(trouble))
        return 1
    said = account_of(found)
    say.person(*troubles, *notes)
    match form:
        case "json":
            say.data(account_value(said))
        case "source":
            say.out(*preset_blocks(said).splitlines())
        case _:
            say.out(*as_text(said), *_of_a_trial(found.chosen.candidate.layout, said))
    return 0


def _of_a_trial(layout: Layout, said: Account) -> list[str]:
    if not layout.trial:
        return []
    if said.identity.trial is False:
        return ["", "It is read by the layout of a trial, as the release of that revision would read it."]
    return ["", trial_text(layout)]
