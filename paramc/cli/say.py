"""What goes to a terminal: nothing from a file, a name or a product reaches it unescaped."""

from __future__ import annotations

import contextlib
import json
import sys
import traceback
import unicodedata
from collections.abc import Iterable
from typing import Any

# Cc and Cf could move the cursor, ring the bell or turn the reading direction; the others have
# no agreed look.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


class Unheard(Exception):
    """Standard output or error cannot be written to; its cause says why."""


def plain(text: str) -> str:
    """A text on one line with everything a terminal could act on written as <U+0007>."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        f"<U+{ord(char):04X}>" if unicodedata.category(char) in _UNSAFE else char for char in text
    )


def person(*lines: str) -> None:
    """Lines for a person, on standard error, so that data has standard output for itself."""
    for line in lines:
        _write(sys.stderr, line)


def out(*lines: str) -> None:
    """Lines on standard output."""
    for line in lines:
        _write(sys.stdout, line)


def data(value: Any) -> None:
    """JSON on standard output, ASCII only, so that no terminal or locale can harm it."""
    _write(sys.stdout, json.dumps(value, indent=1, ensure_ascii=True))


def data_with(value: dict[str, Any], key: str, rows: Iterable[Any]) -> None:
    """The same of an object with one more key, the last, whose value is an array that may be too long to be
    held at once."""
    _write(sys.stdout, json.dumps(value, indent=1, ensure_ascii=True).removesuffix("\n}") + ",")
    _write(sys.stdout, f" {json.dumps(key)}: [")
    before = ""
    for row in rows:
        if before:
            _write(sys.stdout, before)
        before = f"  {json.dumps(row, ensure_ascii=True)},"
    if before:
        _write(sys.stdout, before.removesuffix(","))
    _write(sys.stdout, " ]\n}")


def fault_of_ours(error: Exception) -> None:
    """A fault of paramc itself, in two lines and without a traceback."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{last.filename.rpartition('paramc')[2].lstrip('/')}:{last.lineno}"
    person(
        f"This is a fault of paramc itself, not of your input: {type(error).__name__} at {where}.",
        plain(f"  It says: {error}"),
        "  Nothing was written. Please report it with the file that brought it about.",
    )


def unheard(cause: BaseException | None) -> None:
    """What there is to say when standard output is full: a pipe whose reader has gone wants no word."""
    if isinstance(cause, OSError) and not isinstance(cause, BrokenPipeError):
        reason = (cause.strerror or type(cause).__name__).lower()
        with contextlib.suppress(Unheard):
            person(f"Standard output cannot be written to: {reason}. What was written to files stays.")


def flush() -> None:
    """Sees to it that all of standard output has been written. Raises Unheard."""
    if sys.stdout is not None:
        try:
            sys.stdout.flush()
        except OSError as error:
            raise Unheard from error


def _write(stream: Any, line: str) -> None:
    if stream is None:
        return  # it was closed before we began, so nobody listens
    # A terminal of another encoding shows a question mark rather than ending us.
    encoding = stream.encoding or "utf-8"
    try:
        stream.write(line.encode(encoding, "replace").decode(encoding) + "\n")
    except OSError as error:
        raise Unheard from error
