"""The parser's tables, kept beside the byte code and under the rules of byte code.

Working them out from the grammar takes several times as long as reading a product does. Python keeps
compiled modules for the same reason, in the same folder, in the same form (marshal), written
only where sys.dont_write_bytecode allows it; whoever can write there can change our byte code too.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import marshal
import os
import sys
from collections.abc import Callable
from dataclasses import astuple
from pathlib import Path

from paramc.syntax.automaton import Tables

_FORM = 1
"""Another number wherever Tables becomes something else."""


def kept(grammar: str, make: Callable[[], Tables]) -> Tables:
    """The tables that `make` makes from a grammar, or those kept where they are there and fit.

    A file that is missing, damaged or of another version is made anew; a folder that cannot be
    written is left alone.
    """
    path = _path(grammar)
    with contextlib.suppress(OSError, EOFError, ValueError, TypeError):
        return Tables(*marshal.loads(path.read_bytes()))
    tables = make()
    if not sys.dont_write_bytecode:
        with contextlib.suppress(OSError):
            _keep(path, tables)
    return tables


def _path(grammar: str) -> Path:
    # Not the version of lark: to ask for it takes as long as reading a product, and whatever release made
    # them, the tables of a grammar read its language.
    about = "\0".join((grammar, str(_FORM), sys.version, str(marshal.version)))
    digest = hashlib.sha256(about.encode()).hexdigest()[:16]
    return Path(importlib.util.cache_from_source(__file__)).with_name(f"grammar-{digest}.tables")


def _keep(path: Path, tables: Tables) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    import tempfile  # slow to import, and seldom written

    handle, part = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(marshal.dumps(astuple(tables)))
        os.replace(part, path)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(part)
