"""Rules about earlier revisions that a file can break by itself."""

from __future__ import annotations

from paramc.check.example import changed
from paramc.text.diagnostic import Rule, Severity

_SECOND = changed("revision 1", "revision 2")


def _second(*blocks: str) -> str:
    """The example as its revision 2, with more blocks, a line each."""
    return _SECOND + "".join(f"{block}\n" for block in blocks)


HISTORY_AHEAD = Rule(
    "history-ahead",
    Severity.STOP,
    "`since N` names the revision in which something came or went. That is the revision that the file"
    " writes, or an earlier one; a later one has not come yet.",
    _second('flag bright "Bright" { default off  since 3 formerly off }'),
    _second('flag bright "Bright" { default off  since 2 formerly off }'),
)

NAME_AGAIN = Rule(
    "name-again",
    Severity.STOP,
    "A name stands for one thing in all revisions, because old memories are read by it. So a name that is"
    " retired, or that something else had before, is given to nothing new; and two things cannot both have"
    " been the same one. `was` carries a name over to the one thing that it became, and ways of a selector"
    " are known by their names in the same way.",
    _second('flag bright "Bright" { default off  since 2 formerly off }', "retired bright since 2"),
    _second('flag bright "Bright" { default off  since 2 formerly off }', "retired dim since 2"),
)

_SHAPE = (
    'selector shape "Shape" {{ way round "Round"  way sharp "Sharp"  default round'
    "  since 2 formerly by feel {{ calm to round  wild to sharp }} }}{}"
)

FORMERLY_BY = Rule(
    "formerly-by",
    Severity.STOP,
    "`formerly by OLD { a to b }` splits a selector that is retired: for each of its ways it says what older"
    " units sound like in the new item. OLD has to be retired in the file, and the new item is a selector or"
    " a flag that is kept as OLD was, once or with every preset, with an answer for every way that OLD had.",
    _second(_SHAPE.format("")),
    _second(_SHAPE.format("  retired feel since 2")),
)

RULES = (HISTORY_AHEAD, NAME_AGAIN, FORMERLY_BY)
