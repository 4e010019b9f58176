"""Where the grammar lies: inside an installed package, or beside the package in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent

_PLACES = (
    _PACKAGE / "grammar" / "paramc.lark",  # a wheel carries grammar/ inside the package
    _PACKAGE.parent / "grammar" / "paramc.lark",  # checkout, editable install, unpacked sdist
)


def grammar_text() -> str:
    """The text of grammar/paramc.lark. FileNotFoundError where the installation is incomplete."""
    for place in _PLACES:
        if place.is_file():
            return place.read_text(encoding="utf-8")
    raise FileNotFoundError("paramc.lark is missing from this installation of paramc; looked for "
                            + " and ".join(map(str, _PLACES)))
