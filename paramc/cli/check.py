"""`paramc check`: every diagnostic of one or several products."""

from __future__ import annotations

from collections.abc import Sequence

from paramc import __version__
from paramc.cli import say
from paramc.cli.files import Trouble
from paramc.cli.renderers import data, text
from paramc.cli.renderers import line as by_line
from paramc.cli.understanding import read_product
from paramc.driver import Understood, line
from paramc.text.diagnostic import Diagnostic, has_stop


def run(files: Sequence[str], form: str) -> int:
    """Exit status: 0 without a stop, else 1."""
    said: list[Diagnostic] = []
    products: list[Understood] = []
    troubles: list[str] = []
    for path in files:
        try:
            answer = read_product(path).understood(tables=False)
            said.extend(answer.diagnostics)
            if answer.value is not None:
                products.append(answer.value)
        except Trouble as trouble:
            troubles.append(str(trouble))
    said.extend(line(products))
    found = tuple(said)
    match form:
        case "json":
            say.data({**data.as_data(files, found), "troubles": troubles})
        case "sarif":
            from paramc.catalogue import RULES
            from paramc.cli.renderers import sarif

            say.data(sarif.as_sarif(RULES, found, __version__))
        case "line":
            say.out(*by_line.render(found).splitlines())
        case _:
            say.out(*text.render(found).splitlines())
            if found:
                say.out("")
            if len(files) > len(troubles):
                say.out(text.closing(found, len(files) - len(troubles)))
    say.person(*troubles)
    return 1 if troubles or has_stop(found) else 0
