"""The files that a product file borrows, read from beside it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from paramc.cli.files import Trouble, read_source
from paramc.syntax.borrow import Reader
from paramc.text.source import Source


def reader_beside(file: str) -> Reader:
    """Reads what lies beside a product file or below it. A link that leads elsewhere is not followed."""
    folder = Path(file).parent

    def read(path: str) -> Source | str:
        target = folder / path
        try:
            home = folder.resolve()
            if not target.resolve().is_relative_to(home):
                return "is a link to a place that is not beside the product file or below"
            answer = read_source(target.as_posix())
        except (Trouble, OSError, RuntimeError):
            return "cannot be read"
        return answer.value if answer.value is not None else "is not UTF-8 text"

    return read


def reader_of(sources: Sequence[Source]) -> Reader:
    """Gives the texts that a release keeps, by the paths that they have beside its product file."""
    by_path = {source.name: source for source in sources}
    return lambda path: by_path.get(path, "is not there")
