"""The command line: the only floor that touches files, clocks and terminals."""

from __future__ import annotations

from paramc.cli.main import main

__all__ = ["main"]
