"""The depfile: what a build read, in the form that make and ninja take."""

from __future__ import annotations

from collections.abc import Sequence

# make and ninja agree on a blank with a backslash, and on $$; a line end, a tab, or a colon in a
# target would be misread by one or the other, so such names get no depfile.
_ESCAPES = {" ": "\\ ", "#": "\\#", "$": "$$"}
_UNSPEAKABLE = frozenset("\n\r\t:%\\")


def depfile(targets: Sequence[str], read: Sequence[str]) -> bytes | None:
    """One rule: the targets depend on the files read; an empty rule for each of these, so that a
    file that was removed does not break the next build. None where a name cannot be written."""
    names = [*targets, *read]
    if any(_UNSPEAKABLE & set(name) for name in names):
        return None
    text = f"{' '.join(map(_escaped, targets))}: {' '.join(map(_escaped, read))}\n"
    text += "".join(f"\n{_escaped(name)}:\n" for name in read)
    return text.encode()


def _escaped(name: str) -> str:
    return "".join(_ESCAPES.get(char, char) for char in name)
