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
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import lark
from lark.grammar import Rule
from lark.lexer import TerminalDef


def kept(grammar: str, make: Callable[[], lark.Lark], postlex: Any) -> lark.Lark:
    """The parser that `make` makes from a grammar, from kept tables where they are there and fit.

    A file that is missing, damaged or of another version is made anew; a folder that cannot be
    written is left alone.
    """
    path = _path(grammar)
    with contextlib.suppress(OSError, EOFError, ValueError, TypeError, KeyError):
        data, memo = marshal.loads(path.read_bytes())
        load: Callable[..., lark.Lark] = lark.Lark._load_from_dict
        return load(data, memo, postlex=postlex)
    parser = make()
    if not sys.dont_write_bytecode:
        with contextlib.suppress(OSError):
            _keep(path, parser)
    return parser


def _path(grammar: str) -> Path:
    about = "\0".join((grammar, lark.__version__, sys.version, str(marshal.version)))
    digest = hashlib.sha256(about.encode()).hexdigest()[:16]
    return Path(importlib.util.cache_from_source(__file__)).with_name(f"grammar-{digest}.tables")


def _keep(path: Path, parser: lark.Lark) -> None:
    data, memo = parser.memo_serialize([TerminalDef, Rule])
    data["options"]["postlex"] = None
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(marshal.dumps((data, memo)))
        os.replace(part, path)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(part)
