"""`paramc check`: every diagnostic of one or several products."""

from __future__ import annotations

from collections.abc import Sequence

from paramc import __version__
from paramc.cli import say
from paramc.cli.files import Trouble
from paramc.cli.renderers import data, line, text
from paramc.cli.understanding import read_product
from paramc.text.diagnostic import Diagnostic, has_stop


def run(files: Sequence[str], form: str) -> int:
    """Exit status: 0 without a stop, else 1."""
    said: list[Diagnostic] = []
    troubles: list[str] = []
    for path in files:
        try:
            said.extend(read_product(path).understood(tables=False).diagnostics)
        except Trouble as trouble:
            troubles.append(str(trouble))
    found = tuple(said)
    match form:
        case "json":
            say.data({**data.as_data(files, found), "troubles": troubles})
        case "sarif":
            from paramc.catalogue import RULES
            from paramc.cli.renderers import sarif

            say.data(sarif.as_sarif(RULES, found, __version__))
        case "line":
            say.out(*line.render(found).splitlines())
        case _:
            say.out(*text.render(found).splitlines())
            if found:
                say.out("")
            if len(files) > len(troubles):
                say.out(text.closing(found, len(files) - len(troubles)))
    say.person(*troubles)
    return 1 if troubles or has_stop(found) else 0
