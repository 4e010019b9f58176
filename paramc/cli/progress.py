"""How far a long run is: a bar on a terminal, plain lines elsewhere, nothing for what is soon over."""

from __future__ import annotations

import os
import shutil
import sys
from types import TracebackType
from typing import Final, Self

from paramc.cli import say

_WIDTH: Final = 30


class Progress:
    """Told after every group of units; what it shows goes to standard error and is no part of the answer."""

    def __init__(self, total: int) -> None:
        self._total = total
        terminal = sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
        self._bar = terminal and "NO_COLOR" not in os.environ
        self._shown = 0

    def __enter__(self) -> Self:
        return self

    def show(self, made: int, failed: int) -> None:
        """How many units there are so far."""
        done = made + failed
        text = f"{done} of {self._total} units, {failed} failed"
        if self._bar:
            filled = _WIDTH * done // max(self._total, 1)
            line = f"[{'#' * filled}{'.' * (_WIDTH - filled)}] {text}"
            if len(line) >= shutil.get_terminal_size().columns:
                line = text  # a line that wraps is not undone by going back to its beginning
            sys.stderr.write(f"\r{line}")
            sys.stderr.flush()
            self._shown = len(line)
        elif done < self._total:
            say.person(f"{text}.")

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._shown:
            sys.stderr.write(f"\r{' ' * self._shown}\r")
            sys.stderr.flush()
