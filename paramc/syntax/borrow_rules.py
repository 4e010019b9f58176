"""Rules about borrowed files."""

from __future__ import annotations

from paramc.syntax.rules import FIVE_LINES
from paramc.text.diagnostic import Rule, Severity

BORROW_PATH = Rule(
    "borrow-path",
    Severity.STOP,
    "A borrowed file lies beside the one that borrows it or in a folder below, and its name ends in .paramc."
    " The path has letters, digits, hyphens and underscores, points between them, and slashes: so it means"
    " the same on every machine, and no file can make paramc read what lies elsewhere on a disk.",
    FIVE_LINES + 'borrow "../house.paramc"\n',
    FIVE_LINES,
)

BORROW_FILE = Rule(
    "borrow-file",
    Severity.STOP,
    "A borrowed file cannot be read, is borrowed a second time, borrows itself by a way round, or is one too"
    " many. What it holds counts as standing where it is borrowed, so it can stand there once.",
    FIVE_LINES + 'borrow "there_is_none.paramc"\n',
    FIVE_LINES,
)

BORROW_BLOCK = Rule(
    "borrow-block",
    Severity.STOP,
    "What products share are params, selectors, flags, trims, parts of a panel, and what is accepted with a"
    " reason. The product itself, its memory, modes, presets and promises are its own and stand in its own"
    " file.",
    FIVE_LINES + 'borrow "modes.paramc"\n',
    FIVE_LINES + 'borrow "house.paramc"\n',
    beside=(
        ("house.paramc", 'flag bright "Bright" { default off }\n'),
        ("modes.paramc", 'mode more "More" { }\n'),
    ),
)

RULES = (BORROW_PATH, BORROW_FILE, BORROW_BLOCK)
